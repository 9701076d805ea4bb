"""Checks FHIR bundles with fhir.resources, a general FHIR library, from outside the project.

    python3 -m venv target/fhir-venv
    target/fhir-venv/bin/pip install --quiet -r tests/outside/requirements-fhir.txt
    cargo test --test export
    target/fhir-venv/bin/python tests/outside/fhir_check.py target/tmp/fhir/*.json

The release is read from the profile that the bundle names. Prints one line per file; exit 0 when all pass, 1 when one
does not, 2 when no file was given. The checker first proves itself on spoilt copies of every prescription it is given.
"""

import copy
import json
import re
import sys

from fhir.resources.bundle import Bundle as BundleR5
from fhir.resources.R4B.bundle import Bundle as BundleR4B

RELEASES = {"5.0.0": ("R5", BundleR5), "4.3.0": ("R4B", BundleR4B)}


def release_of(bundle):
    """The release and its model by the profile, e.g. http://hl7.org/fhir/StructureDefinition/Bundle|5.0.0."""
    (profile,) = bundle["meta"]["profile"]
    return RELEASES[profile.rsplit("|", 1)[1]]


def same_resources(bundle, model):
    """Every resource came back as what it said it was, with nothing dropped."""
    return with_z(json.loads(model.model_dump_json())) == with_z(bundle)


def with_z(value):
    """The offset of UTC in its other spelling: the library writes +00:00 as Z, which FHIR holds for the same."""
    if isinstance(value, dict):
        return {key: with_z(item) for key, item in value.items()}
    if isinstance(value, list):
        return [with_z(item) for item in value]
    if isinstance(value, str):
        return re.sub(r"^(\d{4}-\d\d-\d\dT[\d:.]+)\+00:00$", r"\1Z", value)
    return value


def spoilt(bundle):
    """Copies with one fault each that any structure checker must refuse."""
    for entry in range(len(bundle["entry"])):
        kind = bundle["entry"][entry]["resource"]["resourceType"]
        if kind == "VisionPrescription":
            for what, change in {
                "no prescriber": lambda r: r.pop("prescriber"),
                "no lens": lambda r: r.pop("lensSpecification"),
                "unknown element": lambda r: r["lensSpecification"][0].update(vertex=12),
                "axis in words": lambda r: r["lensSpecification"][0].update(axis="horizontal"),
            }.items():
                broken = copy.deepcopy(bundle)
                change(broken["entry"][entry]["resource"])
                yield what, broken


def refused(bundle, model_class):
    try:
        model_class.model_validate(bundle)
    except Exception:
        return True
    return False


def main(paths):
    if not paths:
        print("usage: fhir_check.py BUNDLE.json...", file=sys.stderr)
        return 2
    failed = 0
    for path in paths:
        with open(path, encoding="utf-8") as file:
            bundle = json.load(file)
        try:
            release, model_class = release_of(bundle)
            model = model_class.model_validate(bundle)
        except Exception as error:
            print(f"{path}: FAILED: {error}")
            failed += 1
            continue
        if not same_resources(bundle, model):
            print(f"{path}: FAILED: read back otherwise than written")
            failed += 1
            continue
        let_pass = [what for what, broken in spoilt(bundle) if not refused(broken, model_class)]
        if let_pass:
            print(f"{path}: FAILED: the checker let pass: {', '.join(let_pass)}")
            failed += 1
            continue
        print(f"{path}: {release} ok, {len(bundle['entry'])} resources")
    print(f"{len(paths) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
