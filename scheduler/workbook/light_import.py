"""The library that reads workbooks, imported lightly: a coach waits for it ten minutes before the start."""

from __future__ import annotations

import sys
from typing import Any

WRITING_ONLY = (
    "numpy",
    "PIL",
)  # for arrays and pictures; the library does without where they are missing


def load_workbook(*args: Any, **options: Any) -> Any:
    """openpyxl's own function of that name; the first call imports openpyxl without what only its writing uses."""
    hidden: dict[str, Any] = {name: None for name in WRITING_ONLY if name not in sys.modules}
    sys.modules.update(hidden)  # None there is Python's way to say that a module is not to be had
    try:
        import openpyxl
    finally:
        for name in hidden:
            del sys.modules[name]
    return openpyxl.load_workbook(*args, **options)
