"""The criteria that apply by themselves: what they weigh, how they value, and what says so."""

from pathlib import Path
from typing import get_args

import pytest
from judging import judged

from suitability.config import load_run
from suitability.config.settings import Climate
from suitability.decide import default_criteria, value_of
from suitability.layers.registry import BUILT_IN, FORAGING

CLIMATES = get_args(Climate)
CONFIGS = Path(__file__).parents[3] / "configs"


def curve(climate, layer):
    (found,) = [c for c in default_criteria(climate) if c.layer == layer]
    return found.curve


@pytest.mark.parametrize("climate", CLIMATES)
def test_each_states_its_basis_and_how_firm_it_is(climate):
    for criterion in default_criteria(climate):
        assert len(criterion.basis) > 30
        assert "\n" not in criterion.basis
        assert criterion.evidence in ("peer-reviewed", "agency guidance", "common practice")
        if criterion.evidence == "peer-reviewed":
            assert any(year in criterion.basis for year in ("2000", "2006", "2019"))
        else:
            assert criterion.evidence in criterion.basis


@pytest.mark.parametrize("climate", CLIMATES)
def test_each_names_a_layer_that_is_measured_once(climate):
    names = [criterion.layer for criterion in default_criteria(climate)]
    assert len(set(names)) == len(names)
    assert set(names) <= {*BUILT_IN, FORAGING}


@pytest.mark.parametrize("climate", CLIMATES)
def test_weights(climate):
    weights = {criterion.layer: criterion.weight for criterion in default_criteria(climate)}
    sun = {name: weight for name, weight in weights.items() if name.endswith("_sun_h")}
    assert sum(sun.values()) == pytest.approx(0.35)
    others = {name: weight for name, weight in weights.items() if name not in sun}
    assert others == {
        "water_distance_m": 0.25, "canopy_edge_m": 0.15, "foraging_share": 0.15, "slope_deg": 0.10
    }  # fmt: skip
    # Hot summers take a part of the sun's weight to prefer mornings.
    assert set(sun) == {"direct_sun_h"} | ({"afternoon_sun_h"} if climate == "hot" else set())
    assert sum(judged(*default_criteria(climate)).shares) == pytest.approx(1)


@pytest.mark.parametrize("climate", CLIMATES)
def test_curves_that_do_not_depend_on_climate(climate):
    names = ("water_distance_m", "canopy_edge_m", "slope_deg", "foraging_share")
    water, edge, slope, foraging = (curve(climate, name) for name in names)
    assert water.knots == (
        (0, 1), (pytest.approx(402.336), 1), (pytest.approx(1609.344), 0),
    )  # fmt: skip
    assert edge.knots == ((6, 0), (10, 1), (30, 1), (100, 0.4), (300, 0.1))
    assert slope.knots == ((10, 1), (25, 0))
    assert foraging.knots == ((0, 0), (0.4, 1))


def test_sun_in_moderate_and_hot_summers():
    assert curve("moderate", "direct_sun_h").knots == (
        (3, 0),
        (5, 0.5),
        (7, 1),
        (10, 1),
        (14, 0.85),
    )
    hot = ((2, 0), (4, 0.9), (5, 1), (7, 1), (10, 0.5), (13, 0.2))
    assert curve("hot", "direct_sun_h").knots == hot


def test_sun_in_cool_summers_rises_to_10_hours():
    cool = curve("cool", "direct_sun_h")
    assert cool.knots[-1] == (10, 1)
    values = [value for _, value in cool.knots]
    assert values == sorted(values)
    assert value_of(6, cool) < value_of(6, curve("moderate", "direct_sun_h"))


def test_hot_summers_prefer_the_morning():
    (falling,) = [c for c in default_criteria("hot") if c.layer == "afternoon_sun_h"]
    assert value_of(1, falling.curve) == 1
    assert value_of(7, falling.curve) == 0


def test_the_more_sun_the_hotter_the_summers_the_lower_the_value():
    # At the full sun of an open midsummer day: best where cool, worst where hot.
    values = [float(value_of(13, curve(c, "direct_sun_h"))) for c in ("cool", "moderate", "hot")]
    assert values == sorted(values, reverse=True)
    assert len(set(values)) == 3


@pytest.mark.parametrize("climate", CLIMATES)
def test_the_run_file_to_copy_is_the_default_written_out(climate):
    """A changed default is changed in configs/, too."""
    copied = load_run(CONFIGS / f"{climate}_summers.yaml").settings
    assert copied.climate == climate
    assert len(copied.criteria) == len(default_criteria(climate))
    for one, other in zip(copied.criteria, default_criteria(climate), strict=True):
        assert one.curve == other.curve
        assert one.model_dump(exclude={"value"}) == other.model_dump(exclude={"value"})


def test_where_sources_conflict_it_is_said():
    for climate in CLIMATES:
        conflicts = {c.layer: c.conflict for c in default_criteria(climate)}
        assert conflicts["canopy_edge_m"]
        assert conflicts["direct_sun_h"]
        assert conflicts["slope_deg"] is None
