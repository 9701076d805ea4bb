"""What a spreadsheet has made of exported CSV files: FODS files that LibreOffice wrote of them, and the files themselves.

usage: spreadsheet.py FODS CSV [FODS CSV]...

Every figure is a number and the same, every text a text and the same (a formula is neither), no figure has become a date.
"""
import csv
import sys
import xml.etree.ElementTree as tree

OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"


def cells(row):
    for cell in row.findall(TABLE + "table-cell"):
        assert cell.get(TABLE + "formula") is None, f"a formula: {cell.get(TABLE + 'formula')}"
        paragraphs = ["".join(paragraph.itertext()) for paragraph in cell.findall(TEXT + "p")]
        value = (cell.get(OFFICE + "value-type"), cell.get(OFFICE + "value"), "\n".join(paragraphs))
        for _ in range(int(cell.get(TABLE + "number-columns-repeated", "1"))):
            yield value


def is_figure(text):
    try:
        float(text)
        return True
    except ValueError:
        return False


def check(fods, original):
    rows = list(tree.parse(fods).getroot().iter(TABLE + "table-row"))
    with open(original, encoding="utf-8-sig", newline="") as file:
        expected = list(csv.reader(file))
    assert len(expected) >= 3, f"{original}: {len(expected)} rows"
    count = 0
    for wanted, row in zip(expected, rows):
        found = list(cells(row))
        for place, text in enumerate(wanted):
            kind, value, shown = found[place] if place < len(found) else (None, None, "")
            where = f"{original}: column {place + 1}, {text!r}"
            if text == "":
                assert kind is None, f"{where}: {kind} {shown!r}"
            elif is_figure(text):
                assert kind == "float" and float(value) == float(text), f"{where}: {kind} {value} {shown!r}"
            else:
                assert kind == "string" and shown.split() == text.split(), f"{where}: {kind} {shown!r}"
            count += 1
    return count


pairs = list(zip(sys.argv[1::2], sys.argv[2::2]))
assert pairs, __doc__
print(f"{sum(check(*pair) for pair in pairs)} cells of {len(pairs)} files are what was exported")
