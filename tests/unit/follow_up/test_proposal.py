"""Proposed weights as YAML: a run file takes them as they are."""

import numpy as np
import pytest
import small_land
from judging import judged

from suitability.config import load_run
from suitability.decide import judgement_from, judgement_of
from suitability.follow_up.learning import Proposal
from suitability.follow_up.proposal import proposed_criteria, rank_changes

WEIGHTS = np.array([0.5, 0.3, 0.2])
PROPOSAL = Proposal(WEIGHTS, WEIGHTS - 0.1, WEIGHTS + 0.1)
SUN = {
    "layer": "direct_sun_h",
    "weight": 1,
    "value": {"points": [["3 h", 0], ["7 h", 1]]},
    "basis": 'odd # text: "quoted", {braces}\nand a line more',
}
WATER = {"layer": "water_distance_m", "weight": 2, "value": {"falling": ["0.25 mile", "1 mile"]}}
SLOPE = {"layer": "slope_deg", "weight": 1, "value": {"logistic": [3, 9]}}
GROUP = {"group": "ground and water", "weight": 3, "criteria": [WATER, SLOPE]}


@pytest.mark.parametrize("entries", [(SUN, WATER, SLOPE), (SUN, GROUP)])
def test_a_run_file_takes_the_proposal(entries, tmp_path):
    judgement = judged(*entries)
    text = proposed_criteria(judgement, PROPOSAL, "3 of 9 boxes\nin use")
    settings = load_run(small_land.write_land(tmp_path, small_land.RUN + text)).settings
    taken = judgement_of(settings)
    assert [leaf.name for leaf in taken.leaves] == ["direct_sun_h", "water_distance_m", "slope_deg"]
    np.testing.assert_allclose(taken.shares, WEIGHTS, atol=1e-4)
    for new, old in zip(taken.leaves, judgement.leaves, strict=True):
        assert new.curve == old.curve
        assert new.criterion.basis == old.criterion.basis
        assert new.criterion.evidence == old.criterion.evidence


def test_the_proposal_says_what_it_is():
    text = proposed_criteria(judged(SUN, WATER, SLOPE), PROPOSAL, "3 of 9 boxes in use")
    assert text.startswith("# Weights proposed from the use of boxes: 3 of 9 boxes in use.\n")
    assert "weight: 0.5000  # now 0.250; [0.400, 0.600]" in text


def test_a_curve_from_a_table_is_written_out(tmp_path):
    (tmp_path / "curve.csv").write_text("distance (m), value\n0,1\n400,1\n1600,0\n")
    from_table = {**WATER, "value": {"table": str(tmp_path / "curve.csv")}}
    stated = judged(SUN, from_table, SLOPE).stated.in_numbers()
    text = proposed_criteria(judgement_from(stated), PROPOSAL, "boxes")
    assert "curve.csv" not in text
    assert "1600" in text


def test_what_does_not_add_up_has_no_weights_to_propose():
    with pytest.raises(ValueError, match="weighted means"):
        proposed_criteria(judged(SUN, WATER, SLOPE, combine="limiting criterion"), PROPOSAL, "")


def test_moves_in_words():
    assert rank_changes([1, 2, 3, 4], [1, 2, 3, 4], [4, 2, 1, 3]) == (
        "site 1 would be 4",
        "site 3 would be 1",
        "site 4 would be 3",
    )
