"""Elements of HTML and SVG: whatever goes in is text and stays text.

There is no way to put a string in as markup: only what `element` returns is markup, and it
escapes everything else.
"""

from __future__ import annotations

from html import escape

from cartclock.engine.letters import inert

_VOID = frozenset({"br", "col", "img", "meta"})
_CLOSED = frozenset({"line", "rect"})


class Markup:
    """A finished piece of a document; made by `element` and `joined` alone."""

    __slots__ = ("_text",)

    def __init__(self, text: str) -> None:
        self._text = text

    def __str__(self) -> str:
        return self._text


def _child(child: str | Markup) -> str:
    if isinstance(child, Markup):
        return str(child)
    return escape(inert(child)).replace("\n", "<br>")


def element(name: str, /, *children: str | Markup, **attributes: str | int | float) -> Markup:
    """An element. Text is made inert and escaped, its line breaks become `br`.

    attributes: a trailing "_" is dropped ("class_"), others become "-"; names come from this
    program and never from a person, values are escaped.
    """
    said = "".join(
        f' {key.removesuffix("_").replace("_", "-")}="{_value(value)}"'
        for key, value in attributes.items()
    )
    if name in _VOID:
        return Markup(f"<{name}{said}>")
    if name in _CLOSED:
        return Markup(f"<{name}{said}/>")
    return Markup(f"<{name}{said}>{''.join(map(_child, children))}</{name}>")


def _value(value: str | float) -> str:
    text = value if isinstance(value, str) else f"{value:g}"
    return escape(inert(text).replace("\n", " "))


def joined(*parts: Markup, between: str = "\n") -> Markup:
    """Finished pieces one after another. between: white space."""
    assert not between.strip()
    return Markup(between.join(map(str, parts)))
