"""Makes HTML pages from templates: one file, nothing fetched, every text escaped.

Style and script stand in the page and are named by their hash in its content security policy, so that nothing else can
run or load, whatever a job is called. Every text printed goes through `one_line` and is escaped.
"""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from importlib import resources
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from nest.output.words import one_line

_PACKAGE = "nest.output.pages"


def page(
    template: str, styles: tuple[str, ...], scripts: tuple[str, ...] = (), *, more_style: str = "", **values: Any
) -> str:
    """Return the text of an HTML page.

    Parameters
    ----------
    template
        File name of the template.
    styles, scripts
        File names of what is put into the page, in order.
    more_style
        Style put behind that of the files.
    values
        What the template shows.
    """
    style, script = _joined(styles) + more_style, _joined(scripts)
    sources = [f"style-src {_hash(style)}", *([f"script-src {_hash(script)}"] if script else [])]
    policy = "; ".join(["default-src 'none'", *sources, "base-uri 'none'", "form-action 'none'"])
    return render(template, policy=policy, style=Markup(style), script=Markup(script), **values)


def render(template: str, **values: Any) -> str:
    """Return what a template makes of values, ending in a newline; every text is escaped."""
    body = _environment().get_template(template).render(**values)
    return body if body.endswith("\n") else body + "\n"


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader(_PACKAGE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )


def _shown(value: Any) -> Any:
    return one_line(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _joined(names: tuple[str, ...]) -> str:
    folder = resources.files(_PACKAGE).joinpath("templates")
    return "".join(folder.joinpath(name).read_text(encoding="utf-8") for name in names)


def _hash(text: str) -> str:
    """Return how a policy names a style or script: the hash of the text between its tags."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
