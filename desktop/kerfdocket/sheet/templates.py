"""The shipped templates, where a word that is not known is an error and nothing can be changed."""

from functools import cache

from jinja2 import FileSystemLoader, StrictUndefined
from jinja2.sandbox import ImmutableSandboxedEnvironment

from kerfdocket.language import _, counted, sense
from kerfdocket.resources import data_dir
from kerfdocket.sheet.fields import field_title

__all__ = ["templates"]


@cache
def templates() -> ImmutableSandboxedEnvironment:
    """Return the environment of the shipped templates; a shop's own template runs in it, too.

    Raises:
        ResourceMissing: their folder is not there.
    """
    made = ImmutableSandboxedEnvironment(
        loader=FileSystemLoader(data_dir("sheet_templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals.update(_=_, counted=counted, sense=sense, field_title=field_title)
    return made
