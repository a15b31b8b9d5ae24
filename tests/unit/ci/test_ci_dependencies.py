"""The check of what the program is made of: bills and audits as the two tools write them."""

import datetime as dt
import runpy
from pathlib import Path

import pytest

CHECK = runpy.run_path(str(Path(__file__).parents[3] / ".ci" / "dependencies.py"))
TODAY = dt.date(2026, 6, 1)


def bill(**changes):
    """Return a bill of a program that needs Alpha, which needs beta; gamma lies beside them."""
    alpha = {"bom-ref": "a", "name": "Alpha.Kit", "version": "2.0",
             "licenses": [{"license": {"id": "MIT"}}], **changes}  # fmt: skip
    others = [
        {"bom-ref": key, "name": name}
        for key, name in (("b", "beta"), ("c", "gamma"), ("s", "setuptools"))
    ]
    return {
        "metadata": {"component": {"bom-ref": "root"}},
        "components": [alpha, *others],
        "dependencies": [
            {"ref": "root", "dependsOn": ["a"]},
            {"ref": "a", "dependsOn": ["b"]},
            {"ref": "b", "dependsOn": ["a", "s"]},
        ],
    }


def audit(**found):
    """Return an audit in which Alpha has one known vulnerability and beta was not looked up."""
    hole = {"id": "PYSEC-1", "fix_versions": ["2.1"], "aliases": ["CVE-1"], **found}
    return {"dependencies": [
        {"name": "alpha_kit", "version": "2.0", "vulns": [hole]},
        {"name": "beta", "skip_reason": "not found"},
        {"name": "gamma", "version": "1", "vulns": [{"id": "PYSEC-9", "aliases": []}]},
    ]}  # fmt: skip


def accepted(until, number="CVE-1", package="Alpha-Kit"):
    return [{"package": package, "id": number, "reason": "tested", "until": until}]


def test_needed_is_what_the_program_reaches():
    assert set(CHECK["needed_components"](bill())) == {"alpha-kit", "beta"}


def test_direct_names_leave_versions_and_extras_out():
    needs = ["Alpha.Kit>=2.0,<3", "beta[more] ; python_version<'4'"]
    assert CHECK["direct_names"]({"project": {"dependencies": needs}}) == ["alpha-kit", "beta"]


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"licenses": []}, ["alpha-kit states no licence"]),
        ({"version": ""}, ["alpha-kit has no version in the bill"]),
        ({"name": "other"}, ["alpha-kit is not in the bill"]),
        ({"licenses": [{"expression": "MIT OR BSD-3-Clause"}]}, []),
        ({}, []),
    ],
)
def test_a_direct_dependency_has_version_and_licence(changes, fault):
    needed = CHECK["needed_components"](bill(**changes))
    assert CHECK["faults_of_bill"](needed, ["alpha-kit"]) == fault


def test_a_known_vulnerability_is_a_fault_and_one_beside_the_program_is_not():
    faults, unknown = CHECK["faults_of_audit"](audit(), {"alpha-kit", "beta", "far"}, [], TODAY)
    assert faults == ["alpha-kit 2.0: PYSEC-1, mended in 2.1"]
    assert unknown == ["beta", "far"]


@pytest.mark.parametrize(
    ("entries", "count"),
    [
        (accepted(TODAY), 0),
        (accepted(TODAY, number="PYSEC-1"), 0),
        (accepted(dt.date(2026, 5, 31)), 1),
        (accepted(TODAY, number="CVE-2"), 1),
        (accepted(TODAY, package="beta"), 1),
    ],
)
def test_a_vulnerability_is_accepted_by_package_number_and_day(entries, count):
    faults, _ = CHECK["faults_of_audit"](audit(), {"alpha-kit"}, entries, TODAY)
    assert len(faults) == count


def test_an_audit_without_an_answer_is_no_clean_bill():
    faults, unknown = CHECK["faults_of_audit"]({"dependencies": []}, {"beta"}, [], TODAY)
    assert (faults, unknown) == ([], ["beta"])
