"""What the installed program is made of, with licences, and whether any of it is known unsafe.

python .ci/dependencies.py ENVIRONMENT/bin/python FOLDER

wants `cyclonedx-bom` and `pip-audit` beside it, and an environment that has the program and
what it needs. Writes `bill_of_materials.json` (CycloneDX) and `audit.json` into the folder. Fails
where a direct dependency is not in the bill with version and licence, or where a known
vulnerability is not accepted, with a reason and a day, in `accepted_vulnerabilities.toml`. A
service of vulnerabilities that does not answer fails nothing: it is told, loudly.
"""

from __future__ import annotations

import argparse
import datetime as dt
import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
PROJECT = HERE.parent / "pyproject.toml"
ACCEPTED = HERE / "accepted_vulnerabilities.toml"

# Extras of other packages lead to these; an environment brings them of itself, in any version.
INSTALLERS = {"pip", "setuptools", "wheel"}


def normal(name: str) -> str:
    """Return a package's name as registries compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def direct_names(project: dict[str, Any]) -> list[str]:
    """Return the names of what a pyproject.toml depends on, extras left out."""
    needs = project["project"]["dependencies"]
    return [normal(re.match(r"[A-Za-z0-9._-]+", need)[0]) for need in needs]  # type: ignore[index]


def licences_of(component: dict[str, Any]) -> list[str]:
    """Return the licences that a component of a bill states."""
    found = []
    for entry in component.get("licenses", []):
        licence = entry.get("license", {})
        found.append(entry.get("expression") or licence.get("id") or licence.get("name") or "")
    return [text for text in found if text]


def needed_components(bill: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return by name what the program needs, directly or not; not what merely lies beside it."""
    by_reference = {part["bom-ref"]: part for part in bill["components"]}
    below = {entry["ref"]: entry.get("dependsOn", []) for entry in bill.get("dependencies", [])}
    waiting, seen = [bill["metadata"]["component"]["bom-ref"]], set()
    while waiting:
        reference = waiting.pop()
        if reference not in seen:
            seen.add(reference)
            waiting += below.get(reference, [])
    parts = [by_reference[reference] for reference in seen if reference in by_reference]
    named = {normal(part["name"]): part for part in parts}
    return {name: part for name, part in named.items() if name not in INSTALLERS}


def faults_of_bill(needed: dict[str, dict[str, Any]], direct: list[str]) -> list[str]:
    """Return what is wrong with a bill of materials."""
    faults = [f"{name} is not in the bill" for name in direct if name not in needed]
    for name in direct:
        if name in needed and not needed[name].get("version"):
            faults.append(f"{name} has no version in the bill")
        if name in needed and not licences_of(needed[name]):
            faults.append(f"{name} states no licence")
    return faults


def faults_of_audit(
    audit: dict[str, Any], needed: set[str], accepted: list[dict[str, Any]], today: dt.date
) -> tuple[list[str], list[str]]:
    """Return the known vulnerabilities that nobody accepted, and what was not looked up."""
    until = {(normal(entry["package"]), entry["id"]): entry["until"] for entry in accepted}
    faults, unknown = [], []
    for entry in audit["dependencies"]:
        name = normal(entry["name"])
        if name not in needed:
            continue
        if "skip_reason" in entry:
            unknown.append(name)
        for found in entry.get("vulns", []):
            days = [until[name, key] for key in (found["id"], *found.get("aliases", []))
                    if (name, key) in until]  # fmt: skip
            if not days or max(days) < today:
                fixed = ", ".join(found.get("fix_versions", [])) or "no version yet"
                late = f"; accepted until {max(days)} only" if days else ""
                faults.append(f"{name} {entry['version']}: {found['id']}, mended in {fixed}{late}")
    missing = needed - {normal(entry["name"]) for entry in audit["dependencies"]}
    return faults, sorted({*unknown, *missing})


def write_bill(python: str, target: Path) -> dict[str, Any]:
    """Write the bill of materials of an environment, and return it."""
    asked = [python, "--pyproject", PROJECT, "--output-reproducible", "--of", "JSON", "-o", target]
    subprocess.run([sys.executable, "-m", "cyclonedx_py", "environment", *asked], check=True)
    return dict(json.loads(target.read_text("utf-8")))


def write_audit(python: str, target: Path, more: list[str]) -> dict[str, Any]:
    """Ask for known vulnerabilities; without an answer everything counts as not looked up."""
    where = "import sysconfig; print(sysconfig.get_path('purelib'))"
    told = subprocess.run([python, "-c", where], check=True, capture_output=True, text=True)
    asked = ["--path", told.stdout.strip(), "--progress-spinner", "off", "-f", "json", "-o", target]
    command = [sys.executable, "-m", "pip_audit", *asked, "--timeout", "10", *more]
    target.unlink(missing_ok=True)
    try:
        ended = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    except subprocess.TimeoutExpired:
        print("pip-audit: no answer within two minutes")
        return {"dependencies": []}
    if not target.exists():  # it ends with 1 both for a finding and for a service out of reach
        print("\n".join(ended.stderr.strip().splitlines()[-3:]))
        return {"dependencies": []}
    return dict(json.loads(target.read_text("utf-8")))


def main() -> int:
    """Write both files, say what they tell, and return 1 where that cannot stay."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("python", help="the interpreter of the environment to look at")
    parser.add_argument("folder", type=Path, help="where the two files go")
    parser.add_argument("--osv-url", help="another service that speaks OSV")
    stated = parser.parse_args()
    stated.folder.mkdir(parents=True, exist_ok=True)

    direct = direct_names(tomllib.loads(PROJECT.read_text("utf-8")))
    bill = write_bill(stated.python, stated.folder / "bill_of_materials.json")
    needed = needed_components(bill)
    faults = faults_of_bill(needed, direct)
    for name, part in sorted(needed.items()):
        mark = "*" if name in direct else " "
        licences = " / ".join(licences_of(part)) or "states no licence"
        print(f"{mark} {name} {part.get('version')}: {licences.splitlines()[0]}")
    print(f"{len(needed)} packages, {len(direct)} of them direct (*)")

    more = ["--vulnerability-service", "osv", "--osv-url", stated.osv_url] if stated.osv_url else []
    audit = write_audit(stated.python, stated.folder / "audit.json", more)
    accepted = tomllib.loads(ACCEPTED.read_text("utf-8")).get("accepted", [])
    found, unknown = faults_of_audit(audit, set(needed), accepted, dt.date.today())
    faults += found
    print(f"looked up for known vulnerabilities: {len(needed) - len(unknown)} of {len(needed)}")
    if unknown:
        few = ", ".join(unknown[:5]) + (" …" if len(unknown) > 5 else "")
        print(f"\n!! NOT AUDITED: {len(unknown)} packages; no answer for {few}\n")
    for fault in faults:
        print(f"!! {fault}")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
