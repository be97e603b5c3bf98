from __future__ import annotations

import base64
import hashlib
import html
import re

import pytest
from jinja2 import UndefinedError

from nest.output.labels.pages import labels_html
from nest.output.pages.shell import page


def policy(text: str) -> str:
    found = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    assert found is not None
    return html.unescape(found[1])


def test_the_policy_allows_nothing_but_the_style_and_script_of_the_page() -> None:
    text = page("labels.html", ("labels.css",), ("page.js",), title="T", key="k", pages=(), lines=True)
    for tag, name in (("style", "style-src"), ("script", "script-src")):
        found = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)
        assert found is not None
        digest = base64.b64encode(hashlib.sha256(found[1].encode()).digest()).decode()
        assert f"{name} 'sha256-{digest}'" in policy(text)
    assert policy(text).startswith("default-src 'none'; ")
    assert "unsafe" not in policy(text)


def test_a_page_without_a_script_allows_none() -> None:
    text = labels_html((), "k", lines=True)
    assert "script" not in text


def test_every_text_is_escaped_and_shown_on_one_line() -> None:
    text = page("labels.html", ("labels.css",), title="<b>&\"'\x07\n</title>", key="\u202e", pages=(), lines=True)
    assert "<title>&lt;b&gt;&amp;&#34;&#39;\ufffd &lt;/title&gt; \ufffd</title>" in text


def test_a_value_that_a_template_lacks_is_an_error() -> None:
    with pytest.raises(UndefinedError):
        page("labels.html", ("labels.css",), title="T", key="k")
