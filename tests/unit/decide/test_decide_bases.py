"""What settings rest on: data for each default, and what becomes of it when a run changes one."""

from typing import get_args

import pytest

from suitability.config import RunSettings
from suitability.config.criteria import Evidence
from suitability.config.settings import Exclusions, Mount
from suitability.decide import REASONS, bases_of
from suitability.quantities import Quantities

FILES = {"elevation": "dem.tif", "land_cover": "cover.tif", "streams": "streams.gpkg"}


def bases(**sections):
    settings = RunSettings.model_validate({"inputs": FILES, **sections})
    return {basis.key: basis for basis in bases_of(settings)}


def test_each_names_its_source_or_that_it_is_common_practice():
    for basis in bases().values():
        assert basis.evidence in get_args(Evidence)
        assert basis.evidence != "own"
        assert "\n" not in f"{basis.basis}{basis.conflict}"
        named = ("World Meteorological", "20") if basis.evidence != "common practice" else ()
        assert basis.evidence in basis.basis or any(word in basis.basis for word in named)


@pytest.mark.parametrize("section", [Exclusions, Mount])
def test_every_number_that_rules_land_out_has_one(section):
    """A new key must say where its default comes from: add it to decide/bases.yaml."""
    name = section.__name__.lower()
    values = {key: value for key, value in section() if value not in (None, (), [])}
    if walls := values.pop("walls", None):
        values |= {f"walls.{key}": value for key, value in walls if key != "most"}  # it takes time
    stated = {f"{name}.{key}" for key in values}
    assert stated <= set(bases())


def test_reasons_are_those_that_there_are_and_no_two_share_one():
    reasons = [basis.reason for basis in bases().values() if basis.reason]
    assert len(set(reasons)) == len(reasons)
    assert set(reasons) <= {reason.key for reason in REASONS}
    assert {"clearance", "water", "slope", "existing_box", "under_canopy"} <= set(reasons)


def test_a_default_keeps_its_basis():
    found = bases()["exclusions.steeper_than"]
    assert (found.value, found.default, found.shown) == (30.0, 30.0, "30 deg")
    assert found.basis.startswith("A pole is raised")


@pytest.mark.parametrize("clearance", ["20 ft", 6.0, "6.1 m"])
def test_the_same_number_in_other_units_is_the_default(clearance):
    assert bases(exclusions={"clearance": clearance})["exclusions.clearance"].evidence == (
        "common practice"
    )


@pytest.mark.parametrize(
    ("clearance", "shown"), [("25 ft", "7.62 m"), (None, "none"), (0, "0 m"), (5.8, "5.8 m")]
)
def test_what_a_run_changed_is_its_own_and_tells_the_default(clearance, shown):
    found = bases(exclusions={"clearance": clearance})["exclusions.clearance"]
    assert found.evidence == "own"
    assert found.shown == shown
    assert found.basis.startswith("stated in the run file; the default is 6 m: 20 to 30 ft clear")
    assert found.conflict == bases()["exclusions.clearance"].conflict


def test_words_and_days_are_compared_as_they_are():
    changed = bases(climate="hot", season={"start": "04-02"})
    assert changed["climate"].evidence == "own"
    assert changed["climate"].basis.startswith("stated in the run file; the default is moderate:")
    assert changed["season.start"].evidence == "own"
    assert changed["season.end"].evidence == "common practice"


def test_a_rule_that_is_always_on_has_no_setting():
    found = bases()["always.under_canopy"]
    assert found.is_always
    assert found.evidence == "common practice"
    assert (found.value, found.default) == (None, None)


def test_a_basis_is_told_in_the_readers_units():
    found = bases()["exclusions.clearance"]
    same, told = found.told_in(Quantities("metric")), found.told_in(Quantities("us"))
    assert (same.value, same.unit, same.evidence) == (found.shown, "", found.evidence)
    assert same.conflict == found.conflict
    assert told.value.endswith(" ft")
    assert float(told.value.removesuffix(" ft")) == pytest.approx(found.value / 0.3048, rel=0.02)
    assert "posts of 19.7 ft along" in told.conflict  # of 6 m
    assert (told.words, told.key, told.reason) == (found.words, found.key, "clearance")
    assert bases()["exclusions.water_bank"].told_in(Quantities("us")).conflict is None
