"""Which refusals and questions a module can raise, and which one an exception came from."""

from __future__ import annotations

import ast
import inspect
from types import ModuleType

from cartclock.engine.trouble import Asks, Refused


def raising_lines(module: ModuleType) -> dict[int, range]:
    """First line of every statement that refuses or asks -> all its lines.

    A statement refuses if it raises `Refused`, and asks if it calls `_ask`.
    """
    found = {}
    for node in ast.walk(ast.parse(inspect.getsource(module))):
        if not isinstance(node, ast.Raise | ast.Expr):
            continue
        call = node.exc if isinstance(node, ast.Raise) else node.value
        if (
            isinstance(call, ast.Call)
            and isinstance(call.func, ast.Name)
            and call.func.id in ("Refused", "_ask")
        ):
            found[node.lineno] = range(node.lineno, (node.end_lineno or node.lineno) + 1)
    return found


def raised_at(module: ModuleType, trouble: Refused | Asks) -> int | None:
    """First line of the statement of `module` the exception came from; None if from none."""
    frame, found = trouble.__traceback__, None
    while frame is not None:
        if frame.tb_frame.f_code.co_filename == module.__file__:
            for first, lines in raising_lines(module).items():
                found = first if frame.tb_lineno in lines else found
        frame = frame.tb_next
    return found
