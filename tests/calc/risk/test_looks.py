"""The risk of a whole piece: several values that decide, each looked at again until it is clear."""

import math

import numpy as np
import pytest

from inventory.calc.errors import ImpossibleInput
from inventory.calc.risk import multiplier_for_piece, risk_of_looking_again, risk_of_piece


def share_called_out(multiplier: float, *, looks: int, findings: int, habit: float) -> float:
    """Of 20,000 simulated pieces just at a limit at every point: the share with any value called out."""
    rng = np.random.default_rng(findings)
    habits = habit * rng.normal(0, 1, (20_000, 1))
    total = np.zeros((20_000, findings))
    out, still = np.zeros(total.shape, bool), np.ones(total.shape, bool)
    for look in range(1, looks + 1):
        total += rng.normal(0, 1, total.shape)
        mean, reach = total / look + habits, multiplier * math.sqrt(1 / look + habit**2)
        out |= still & (mean > reach)
        still &= np.abs(mean) <= reach
    return float(out.any(axis=1).mean())


@pytest.mark.parametrize("habit", [0.0, 1.0])
@pytest.mark.parametrize(("looks", "findings"), [(1, 10), (4, 10), (4, 30)])
def test_the_guard_band_of_a_piece_keeps_its_risk(looks: int, findings: int, habit: float) -> None:
    one = risk_of_looking_again(2.0, looks=1)
    wide = multiplier_for_piece(one, looks=looks, findings=findings, person_share=habit)
    # 2.3 % of 20,000 has a standard error of 0.11 %.
    assert share_called_out(wide, looks=looks, findings=findings, habit=habit) <= one + 0.0033
    assert share_called_out(2.0, looks=looks, findings=findings, habit=habit) > 3 * one
    allowed = risk_of_piece(2.0, looks=looks, findings=findings, person_share=habit)
    assert share_called_out(2.0, looks=looks, findings=findings, habit=habit) <= allowed


def test_with_one_value_a_piece_is_its_reading() -> None:
    assert risk_of_piece(2.0, looks=3, findings=1) == risk_of_looking_again(2.0, looks=3)
    assert risk_of_piece(1.0, looks=4, findings=50) == 1.0


def test_a_piece_without_a_value_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Number of values that decide is 0"):
        risk_of_piece(2.0, looks=1, findings=0)
    with pytest.raises(ImpossibleInput, match="Number of values that decide is 0"):
        multiplier_for_piece(0.02, looks=1, findings=0)
