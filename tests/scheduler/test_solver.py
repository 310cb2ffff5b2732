"""A model that the solver cannot read is a defect of ours, and never taken for one that it had no time for."""

from __future__ import annotations

import pytest

from scheduler.solver import cp_model
from scheduler.solving import make_solver


def test_a_model_that_cannot_be_read_is_no_answer() -> None:
    model = cp_model.CpModel()
    one = model.new_bool_var("one")
    model.add_hint(one, 1)
    model.add_hint(one, 0)
    with pytest.raises(AssertionError, match="hint"):
        make_solver(1.0).solve(model)
