"""What the library of the screens would find out again for every app: found out once for a run.

A thousand apps of the same few screens are started. What a stylesheet says, which of its rules
hold for a part and which methods take a message is the same for all of them.
`tests/screens/test_library_kept.py` sets what is kept against what the library finds anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from inspect import CO_VARARGS, CO_VARKEYWORDS
from typing import Any

import textual._callback
from textual.css.model import RuleSet
from textual.css.styles import RulesMap
from textual.css.stylesheet import Stylesheet
from textual.design import ColorSystem
from textual.dom import DOMNode
from textual.message import Message
from textual.message_pump import MessagePump

# What of a part is set beside its rules: whether one of them asks for that.
ASKED = ("_has_hover_style", "_has_focus_within", "_has_order_style", "_has_odd_or_even")
# What rules go by, besides type, id and classes; an app has other of these than a part.
STATES = ("mouse_hover", "has_focus", "disabled", "can_focus")
APP_STATES = ("app_focus", "theme", "ansi_color", "is_inline", "no_color")

Handlers = list[tuple[type, list[Callable[..., Any]]]]


class Sheet:
    """The rules of one text in one set of colours, and what they come to for each kind of part."""

    def __init__(self, rules: list[RuleSet]) -> None:
        self.rules = rules
        self.map: dict[str, list[RuleSet]] | None = None
        self.made: dict[tuple[Any, ...], tuple[RulesMap, tuple[bool, ...]]] = {}


SHEETS: dict[tuple[Any, ...], Sheet] = {}
OF_RULES: dict[int, Sheet] = {}
COLOURS: dict[tuple[Any, ...], dict[str, str]] = {}
HANDLERS: dict[tuple[type, str, type], Handlers | None] = {}


def parse(stylesheet: Stylesheet) -> None:
    """In place of `Stylesheet.parse`: rules that an app of this run has read are taken over."""
    key = (*stylesheet.source.items(), *stylesheet._variables.items())
    if key not in SHEETS:
        parse_anew(stylesheet)
        SHEETS[key] = OF_RULES[id(stylesheet._rules)] = Sheet(stylesheet._rules)
    found = SHEETS[key]
    stylesheet._rules = found.rules
    stylesheet._require_parse = False
    stylesheet._rules_map = found.map


def apply(
    stylesheet: Stylesheet, node: DOMNode, *, animate: bool = False, cache: object = None
) -> None:
    """In place of `Stylesheet.apply`: parts that no rule can tell apart have the same style."""
    sheet = OF_RULES[id(stylesheet.rules)]
    key = tuple(like(one) for one in node.css_path_nodes)
    if key in sheet.made:
        rules, asked = sheet.made[key]
        for name, value in zip(ASKED, asked, strict=True):
            setattr(node, name, value)
        replace(stylesheet, node, rules, animate)
        stylesheet._process_component_classes(node)
        return
    # The library leaves here what goes by nothing else than it looks at itself.
    left: dict[tuple[Any, ...], RulesMap] = {}
    apply_anew(stylesheet, node, animate=animate, cache=left)
    sheet.map = stylesheet.rules_map
    for rules in left.values():
        sheet.made[key] = (rules, tuple(getattr(node, name) for name in ASKED))


def replace(stylesheet: Stylesheet, node: DOMNode, rules: RulesMap, animate: bool) -> None:
    """In place of `Stylesheet.replace_rules`: a value that stands already is not set again."""
    base = node.styles.base
    stands = base._rules
    if "transitions" in stands or "transitions" in rules:
        stylesheet.replace_rules(node, rules, animate=animate)
        return
    changed = [key for key in stands.keys() | rules.keys() if stands.get(key) != rules.get(key)]
    for key in changed:
        setattr(base, key, rules.get(key))
    if changed or not animate:
        node.notify_style_update()


def like(node: DOMNode) -> tuple[object, ...]:
    """What rules may go by in a part, except for its place among its neighbours."""
    states = STATES if hasattr(node, "mouse_hover") else APP_STATES
    return (
        type(node),
        node._id,
        node.classes,
        *[getattr(node, name, None) for name in states],
    )


def handlers(
    pump: MessagePump, method_name: str, message: Message
) -> Iterator[tuple[type, Callable[..., Any]]]:
    """In place of `MessagePump._get_dispatch_methods`: looked for once for each class."""
    key = (type(pump), method_name, type(message))
    if key not in HANDLERS:
        HANDLERS[key] = of_class(*key)
    found = HANDLERS[key]
    if found is None:
        yield from handlers_anew(pump, method_name, message)
        return
    for cls, methods in found:
        if message._no_default_action:
            return
        for method in methods:
            yield cls, method.__get__(pump, cls)


def of_class(pump: type, method_name: str, message: type) -> Handlers | None:
    """The methods that take a message, by class; None if they go by who sent it."""
    found: Handlers = []
    for cls in pump.__mro__:
        methods = []
        decorated = cls.__dict__.get("_decorated_handlers", {})
        for kind in message.__mro__:
            for method, selectors in decorated.get(kind, ()):
                if selectors:
                    return None
                if all(method not in known for _cls, known in found) and method not in methods:
                    methods.append(method)
        named = cls.__dict__.get(f"_{method_name}") or cls.__dict__.get(method_name)
        if named is not None and not getattr(named, "_textual_on", None):
            methods.append(named)
        if methods:
            found.append((cls, methods))
    return found


def parameters(function: Callable[..., Any]) -> int:
    """In place of a signature: how many parameters a plain function has."""
    code = getattr(function, "__code__", None)
    if code is None or hasattr(function, "__wrapped__"):
        return parameters_anew(function)
    flags = bool(code.co_flags & CO_VARARGS) + bool(code.co_flags & CO_VARKEYWORDS)
    return int(code.co_argcount + code.co_kwonlyargcount + flags)


def colours(system: ColorSystem) -> dict[str, str]:
    """In place of `ColorSystem.generate`: the shades of a theme are reckoned once."""
    said = {**vars(system), "variables": tuple(system.variables.items())}
    key = tuple(said.items())
    if key not in COLOURS:
        COLOURS[key] = colours_anew(system)
    return dict(COLOURS[key])


parse_anew, apply_anew = Stylesheet.parse, Stylesheet.apply
handlers_anew = MessagePump._get_dispatch_methods
colours_anew = ColorSystem.generate
parameters_anew = textual._callback._count_parameters


def keep() -> None:
    """From here on what apps of this process find out is kept."""
    Stylesheet.parse = parse  # type: ignore[method-assign]  # of every app a test starts
    Stylesheet.apply = apply  # type: ignore[method-assign]  # of every app a test starts
    MessagePump._get_dispatch_methods = handlers  # type: ignore[method-assign]  # of every app
    ColorSystem.generate = colours  # type: ignore[method-assign]  # of every app a test starts
    textual._callback._count_parameters = parameters
