"""Checks exported records from outside the project: DICOM objects with dciodvfy and pydicom, pages with pypdf.

    records_check.py FOLDER NUMBER...      of each exam: exam-NUMBER.json, .pdf and, where it has any, *.dcm beside them
    records_check.py --lensometry FILE     writes what a lensmeter would, by pydicom, for `exam start --from`

Every figure of an object is compared with the record in JSON. Prints one line per file and ends with `N passed, 0 failed`;
exit 1 when one fails. The validator first proves itself on spoilt copies of every object it is given.
"""

import copy
import glob
import json
import math
import os
import subprocess
import sys
import tempfile

import pydicom
import pypdf
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.uid import ImplicitVRLittleEndian

WAYS = {
    "420050001": "unaided",
    "419475002": "pinhole",
    "111686": "with_old_glasses",
    "419775003": "with_prescription",
}
SIDES = {"Right": "right", "Left": "left"}


def complaints(path):
    """What dciodvfy has to say, beside the name of the kind of object."""
    program = os.path.join(os.path.dirname(sys.executable), "dciodvfy")
    said = subprocess.run([program, path], capture_output=True, text=True)
    return [line for line in (said.stdout + said.stderr).splitlines() if line.startswith(("Error", "Warning"))]


def check(condition, what):
    if not condition:
        raise ValueError(what)


def same(value, expected, what):
    check(
        (value is None) == (expected is None) and (value is None or abs(value - expected) < 0.005001),
        f"{what} is {value}, not {expected}",
    )


def one(dataset, keyword):
    sequence = dataset.get(keyword)
    return sequence[0] if sequence else None


def refraction(dataset, record):
    check(dataset.Modality == "SRF", "another modality")
    for side, name in SIDES.items():
        eye = record[name]
        lens = one(dataset, f"SubjectiveRefraction{side}EyeSequence")
        written = eye.get("written")
        check((lens is None) == (written is None), f"{name} eye: a lens where none is written, or none where one is")
        if lens is None:
            continue
        same(lens.SpherePower, written["sphere"], f"sphere of the {name} eye")
        cylinder = one(lens, "CylinderSequence")
        check((cylinder is None) == (written["cylinder"] == 0), f"{name} eye: cylinder")
        if cylinder is not None:
            same(cylinder.CylinderPower, written["cylinder"], f"cylinder of the {name} eye")
            same(cylinder.CylinderAxis, written["axis"], f"axis of the {name} eye")
        near = one(lens, "AddNearSequence")
        same(near.AddPower if near is not None else None, eye.get("addition"), f"addition of the {name} eye")
        same(lens.VertexDistance, record["planned_vertex_mm"], "vertex distance")
        prism = one(lens, "PrismSequence")
        found = []
        if prism is not None:
            found = [
                (prism.HorizontalPrismPower, prism.HorizontalPrismBase.lower()),
                (prism.VerticalPrismPower, prism.VerticalPrismBase.lower()),
            ]
        found = [(amount, base) for amount, base in found if amount]
        expected = [(part["amount"], part["base"]) for part in eye.get("prism", [])]
        check(len(found) == len(expected), f"{name} eye: prisms {found}, not {expected}")
        for (amount, base), (right_amount, right_base) in zip(found, expected):
            same(amount, right_amount, f"prism of the {name} eye")
            check(base == right_base, f"{name} eye: base {base}, not {right_base}")


def acuity(dataset, record):
    check(dataset.Modality == "VA", "another modality")
    way = WAYS[dataset.VisualAcuityTypeCodeSequence[0].CodeValue]
    for side, name in SIDES.items():
        read = one(dataset, f"VisualAcuity{side}EyeSequence")
        line = record[name].get(way)
        line = line.get("line") if isinstance(line, dict) else None
        expected = None if line is None else math.log10(line["mar"]) - 0.02 * line["letters"]
        same(None if read is None else -math.log10(read.DecimalVisualAcuity), expected, f"{way}, {name} eye")


def of_file(path, record):
    said = complaints(path)
    check(not said, "dciodvfy: " + "; ".join(said))
    dataset = pydicom.dcmread(path)
    label = dataset.PatientName.family_name
    check(label == record.get("label", ""), f"label {label}")
    is_refraction = dataset.SOPClassUID == pydicom.uid.SubjectiveRefractionMeasurementsStorage
    (refraction if is_refraction else acuity)(dataset, record)
    for what, spoil in {
        "no laterality": lambda d: d.__delattr__("MeasurementLaterality"),
        "another base than there is": lambda d: d.__setattr__("MeasurementLaterality", "X"),
        "no study": lambda d: d.__delattr__("StudyInstanceUID"),
    }.items():
        broken = copy.deepcopy(dataset)
        spoil(broken)
        with tempfile.NamedTemporaryFile(suffix=".dcm") as file:
            broken.save_as(file.name)
            check(complaints(file.name), f"the validator lets pass: {what}")


def page(path, record):
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    for name in SIDES.values():
        written = record[name].get("written")
        if written:
            figure = "plano" if written["sphere"] == 0 else f"{written['sphere']:+.2f}".replace("-", "−")
            check(figure in text, f"{figure} of the {name} eye is not on the page")
    check(record.get("label", "") in text, "the label is not on the page")


def lensometry(path):
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = "1.2.840.10008.5.1.4.1.1.78.1"
    meta.MediaStorageSOPInstanceUID = "2.25.3"
    meta.TransferSyntaxUID = ImplicitVRLittleEndian
    dataset = Dataset()
    dataset.file_meta = meta
    dataset.SOPClassUID, dataset.SOPInstanceUID = meta.MediaStorageSOPClassUID, meta.MediaStorageSOPInstanceUID
    dataset.MeasurementLaterality = "B"
    for keyword, figures in {"RightLensSequence": (-4.25, -0.75, 10), "LeftLensSequence": (2.5, 1.25, 95)}.items():
        cylinder, lens = Dataset(), Dataset()
        lens.SpherePower, cylinder.CylinderPower, cylinder.CylinderAxis = figures
        lens.CylinderSequence = [cylinder]
        setattr(dataset, keyword, [lens])
    dataset.save_as(path, enforce_file_format=True)


def main(arguments):
    if arguments[0] == "--lensometry":
        lensometry(arguments[1])
        return 0
    folder, passed = arguments[0], 0
    for number in arguments[1:]:
        with open(f"{folder}/exam-{number}.json", encoding="utf-8") as file:
            record = json.load(file)
        found = sorted(glob.glob(f"{folder}/exam-{number}.dcm") + glob.glob(f"{folder}/exam-{number}-*.dcm"))
        for path, checker in [(path, of_file) for path in found] + [(f"{folder}/exam-{number}.pdf", page)]:
            try:
                checker(path, record)
            except Exception as error:
                print(f"{path}: FAILED: {error}")
                print(f"{passed} passed, 1 failed")
                return 1
            print(f"{path}: ok")
            passed += 1
    print(f"{passed} passed, 0 failed")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
