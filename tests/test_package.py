"""The public names of the package."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module

import pytest

import nest


def test_every_public_name_is_the_one_of_its_module() -> None:
    assert len(nest.__all__) == 14
    for name in nest.__all__:
        value = getattr(nest, name)
        assert value is getattr(import_module(value.__module__), name)
    assert set(nest.__all__) <= set(dir(nest))


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="module 'nest' has no attribute 'make_plans'"):
        nest.make_plans  # noqa: B018


def test_importing_the_package_loads_nothing_heavy() -> None:
    script = "import sys, nest; sys.exit(str({'numpy', 'numba', 'highspy', 'click'} & set(sys.modules) or ''))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.stderr.strip() == ""
