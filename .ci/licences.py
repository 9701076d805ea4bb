#!/usr/bin/env python3
"""Writes the licences of everything that is linked into the program for a target: one list, then each text once.

    .ci/licences.py TARGET > FILE

Fails where a crate neither brings a text nor has a licence whose text another one brings.
"""

import json
import pathlib
import re
import subprocess
import sys

NAMES = re.compile(r"^(un)?(licen[cs]e|copying|copyright|notice)([-_.].*)?$", re.IGNORECASE)
# code is never the text of a licence
CODE = {".rs", ".py", ".c", ".h", ".html", ".toml", ".json"}


def linked(target):
    """The crates that are linked, ourselves among them."""
    about = json.loads(printed("cargo", "metadata", "--format-version", "1", "--locked", "--filter-platform", target))
    packages = {(package["name"], package["version"]): package for package in about["packages"]}
    edges = ["--edges", "normal,no-proc-macro", "--prefix", "none", "--format", "{p}"]
    tree = printed("cargo", "tree", "--locked", "--target", target, *edges)
    names = {tuple(line.split()[:2]) for line in tree.splitlines() if line}
    return [packages[name, version.removeprefix("v")] for name, version in sorted(names)]


def printed(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def texts_of(folder):
    """The texts of licences in a folder and below, those of code that it carries from elsewhere among them."""
    files = (file for file in folder.rglob("*") if file.is_file() and NAMES.match(file.name) and file.suffix not in CODE)
    return [(file.relative_to(folder), file.read_text("utf-8", "replace").strip()) for file in sorted(files)]


def of_file(folder, package):
    """The licence of a crate that names a file in place of one: what the file's heading says."""
    named = package["license_file"]
    heading = (folder / named).read_text("utf-8").lstrip().partition("\n")[0].strip() if named else ""
    return {"MIT License": "MIT"}.get(heading) or sys.exit(f"{package['name']} says no licence")


def main():
    target = sys.argv[1]
    ours = pathlib.Path(__file__).resolve().parent.parent
    parts, without, texts = [], [], {}

    def add(whose, found):
        for name, text in found:
            texts.setdefault(re.sub(r"\s+", " ", text), (text, []))[1].append(f"{whose}: {name}")

    for package in linked(target):
        folder = pathlib.Path(package["manifest_path"]).parent
        licence = package["license"] or of_file(folder, package)
        whose = f"{package['name']} {package['version']}"
        if folder == ours:
            found = [(name, (ours / name).read_text().strip()) for name in ["LICENSE-APACHE", "LICENSE-MIT"]]
            faces = "src/export/pdf/faces/LICENSE"
            parts.append(f"{whose}: {licence}; with DejaVu fonts ({faces})")
            add(whose, [*found, (faces, (ours / faces).read_text("utf-8", "replace").strip())])
            continue
        found = texts_of(folder)
        by = ", ".join(re.sub(r"\s*<[^>]*>", "", author) for author in package["authors"]) or package["repository"] or "no author named"
        parts.append(f"{whose}: {licence} ({by})" + ("" if found else "; its package has no text"))
        if not found:
            without.append((whose, licence))
        add(whose, found)

    # what is linked and is not a crate
    rust = pathlib.Path(printed("rustc", "--print", "sysroot").strip(), "share/doc/rust/licenses")
    parts.append("the standard library of Rust: MIT OR Apache-2.0")
    add("the standard library of Rust", [(name, (rust / name).read_text().strip()) for name in ["Apache-2.0.txt", "MIT.txt"]])
    if "musl" in target:
        musl = pathlib.Path("/usr/share/doc/musl/copyright")
        parts.append("musl, the C library: MIT")
        add("musl", [("copyright", musl.read_text("utf-8", "replace").strip())])
    parts.append("SQLite (in libsqlite3-sys): in the public domain, <https://www.sqlite.org/copyright.html>")

    # a text of the same licence serves a crate that brings none
    common = pathlib.Path("/usr/share/common-licenses")
    signs = {"Apache-2.0": "Apache License Version 2.0", "MIT": "Permission is hereby granted, free of charge"}
    for whose, licence in without:
        offered = re.split(r" OR |/", licence.strip("()"))
        if any(one in signs and any(signs[one] in text for text in texts) for one in offered):
            continue
        known = [common / one for one in offered if (common / one).exists()]
        known or sys.exit(f"{whose}: no text of {licence} is at hand")
        add(whose, [(known[0].name, known[0].read_text().strip())])

    print(f"What is linked into dioptray for {target}, and under which licences.\n")
    print("\n".join(f"- {part}" for part in parts))
    for text, whose in sorted(texts.values(), key=lambda entry: entry[1]):
        print(f"\n{'=' * 80}\n{chr(10).join(whose)}\n{'-' * 80}\n{text}")


main()
