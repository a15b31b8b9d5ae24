"""Why land is out: one bit a reason."""

import numpy as np
import pytest

from suitability.config.rules import ExclusionRule
from suitability.decide import (
    REASONS,
    ExcludedLand,
    count_bits,
    reason_bits,
    reasons_in,
    reasons_of,
    rule_masks,
)

# Files of earlier runs hold these bits: a new reason takes the next one, none ever moves.
BITS = {"no_data": 1, "outside": 2, "under_canopy": 4, "clearance": 8, "building": 16, "water": 32,
        "slope": 64, "keep_out": 128, "existing_box": 256}  # fmt: skip


def mask(*values: int) -> np.ndarray:
    return np.array([values], dtype=bool)


def test_each_reason_has_its_own_bit_and_words():
    assert {reason.key: reason.bit for reason in REASONS} == BITS
    words = [reason.words for reason in REASONS]
    assert len(set(words)) == len(words)
    assert all(words)


def test_bits_add_up():
    bits = reason_bits(
        {"outside": mask(1, 1, 0, 0), "slope": mask(0, 1, 1, 0), "existing_box": mask(0, 1, 0, 0)},
        (1, 4),
    )
    assert bits.dtype == np.uint16
    np.testing.assert_array_equal(bits, [[2, 2 + 64 + 256, 64, 0]])


def test_without_a_rule_all_land_is_candidate():
    np.testing.assert_array_equal(reason_bits({}, (2, 3)), np.zeros((2, 3)))


def test_an_unknown_rule_is_a_bug_and_not_passed_over():
    with pytest.raises(KeyError):
        reason_bits({"too_windy": mask(1)}, (1, 1))


@pytest.mark.parametrize("number", [0, 1, 2, 4 + 32, 511])
def test_bits_are_read_back(number):
    found = reasons_in(number)
    assert sum(reason.bit for reason in found) == number
    assert [reason.number for reason in found] == sorted(reason.number for reason in found)


# --- rules of a run's own ---------------------------------------------------------------------


def rule(**said):
    return ExclusionRule.model_validate(said)


STEEP = rule(layer="slope_deg", above="20 deg")
NEAR = rule(layer="road_distance_m", below="100 ft", because="traffic")


def test_each_rule_takes_the_next_bit():
    found = reasons_of([STEEP, NEAR])
    assert found[: len(REASONS)] == REASONS
    assert [(r.bit, r.key, r.words) for r in found[len(REASONS) :]] == [
        (512, "slope_deg_above_20", "slope_deg above 20 deg"),
        (1024, "road_distance_m_below_30.48", "traffic"),
    ]


def test_a_rule_holds_beyond_its_bound_and_nowhere_without_a_measure():
    layers = {
        "slope_deg": np.array([[19, 20, 20.001, np.nan, 0]], np.float32),
        "road_distance_m": np.array([[30.4, 30.5, 0, np.nan, 30.48]], np.float32),
    }
    masks = rule_masks([STEEP, NEAR], layers)
    np.testing.assert_array_equal(masks["slope_deg_above_20"], mask(0, 0, 1, 0, 0))
    np.testing.assert_array_equal(masks["road_distance_m_below_30.48"], mask(1, 0, 1, 0, 0))
    bits = reason_bits(masks, (1, 5), reasons_of([STEEP, NEAR]))
    np.testing.assert_array_equal(bits, [[1024, 0, 1536, 0, 0]])
    assert bits.dtype == np.uint16


def test_bits_widen_where_sixteen_do_not_hold_them():
    rules = [rule(layer="a_m", above=bound) for bound in range(7)]
    assert reason_bits({}, (1, 1), reasons_of(rules)).dtype == np.uint16
    rules.append(rule(layer="a_m", above=7))
    found = reason_bits({"a_m_above_7": mask(1)}, (1, 1), reasons_of(rules))
    assert found.dtype == np.uint32
    assert found[0, 0] == 65536
    assert [r.key for r in reasons_in(65536, reasons_of(rules))] == ["a_m_above_7"]


# --- how much is out --------------------------------------------------------------------------


def test_land_is_counted_in_all_alone_and_together():
    bits = np.array([[0, 2, 2, 66, 64], [0, 0, 64, 64, 194]], np.uint16)
    land = ExcludedLand.of(count_bits(bits), REASONS)
    assert (land.cells, land.candidates) == (10, 3)
    rows = {row.reason.key: row for row in land.rows}
    assert list(rows) == list(BITS)
    outside, slope, keep_out = (rows[key] for key in ("outside", "slope", "keep_out"))
    assert (outside.cells, outside.alone) == (4, 2)
    assert (slope.cells, slope.alone) == (5, 3)
    assert (keep_out.cells, keep_out.alone) == (1, 0)
    assert slope.together["outside"] == outside.together["slope"] == 2
    assert slope.together["keep_out"] == 1
    assert rows["water"].cells == 0
