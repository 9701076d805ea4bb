"""Compares what the program says of stacks of lenses with rays traced by a general optics library.

Usage: ray_trace.py PATH-TO-DIOPTRAY

The library is `raytracing` (PyPI, see requirements.txt): paraxial rays in one meridian. So every cylinder of a stack stands
at one axis or across it, the axis itself being any; each of the two meridians is then a stack of spherical lenses. Cylinders
crossed at other angles are compared with matrices elsewhere (tests/outside/matrices.rs).

The lenses, gaps and distances are drawn with a fixed seed, the answers come from the program's own output.
"""

import json
import math
import os
import random
import subprocess
import sys
import tempfile

os.environ.setdefault("MPLBACKEND", "Agg")

from raytracing import Lens, MatrixGroup, Ray, Space  # noqa: E402

TOLERANCE_D = 1e-9
STACKS = 150
MOVES = 50


def ask(program, *arguments):
    """The program's answer to a command, as JSON."""
    done = subprocess.run([program, *arguments, "--json"], capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(f"{' '.join(arguments)}: exit code {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


def traced_power(elements):
    """Vergence behind the last element, in dioptres, of light that was parallel before the first one."""
    ray = Ray(y=1.0, theta=0.0)
    if elements:
        ray = MatrixGroup(elements).trace(ray)[-1]
    return -ray.theta / ray.y * 1000.0


def lens(power):
    """A thin lens, or nothing for no power."""
    return [Lens(f=1000.0 / power)] if power else []


def stack_elements(powers, gaps_mm):
    """The lenses in the order in which light meets them, the outermost first; powers and gaps run from cell 1 outward."""
    elements = []
    for cell in reversed(range(len(powers))):
        if cell < len(gaps_mm):
            elements.append(Space(d=gaps_mm[cell]))
        elements += lens(powers[cell])
    return elements


def along(power, meridian):
    """The power along a meridian and the part of it that leads out of the meridian, from a power in the program's JSON."""
    double = math.radians(2 * meridian)
    inside = power["m"] + power["j0"] * math.cos(double) + power["j45"] * math.sin(double)
    outside = -power["j0"] * math.sin(double) + power["j45"] * math.cos(double)
    return inside, outside


def written_form(power):
    """Principal powers along the axis and across it, from the sphere, cylinder and axis of the program's JSON."""
    return power["sphere"], power["sphere"] + power["cylinder"], power["axis"]


def quarters(draw, most):
    return draw.randint(-4 * most, 4 * most) / 4


def frame_file(folder, gaps_mm, vertex_mm):
    """A frame with these gaps, every cell turning."""
    cells = ["  - {name: c1, turns: true}"]
    cells += [f"  - {{name: c{n}, gap_mm: {gap}, turns: true}}" for n, gap in enumerate(gaps_mm, 2)]
    lines = [
        "frame: Drawn at random",
        f"vertex_mm: {vertex_mm}",
        "pd_mm: {least: 48, most: 80}",
        "axis_marks_deg: 5",
        "cells:",
        *cells,
    ]
    path = os.path.join(folder, "frame.yaml")
    with open(path, "w", encoding="utf-8") as file:
        file.write("\n".join(lines) + "\n")
    return path


def draw_stack(draw, axis):
    """Lenses as arguments, and their powers along the axis and across it."""
    arguments, along_axis, across = [], [], []
    for _ in range(draw.randint(1, 5)):
        kind = draw.choice(["sphere", "sphere", "cylinder", "cylinder across", "empty"])
        power = quarters(draw, 12 if kind == "sphere" else 6)
        if kind == "empty" or power == 0:
            arguments.append(".")
            along_axis.append(0.0)
            across.append(0.0)
        elif kind == "sphere":
            arguments.append(f"{power:+.2f}")
            along_axis.append(power)
            across.append(power)
        else:
            turned = axis if kind == "cylinder" else (axis + 90) % 180
            arguments.append(f"{power:+.2f}x{turned}")
            along_axis.append(0.0 if kind == "cylinder" else power)
            across.append(power if kind == "cylinder" else 0.0)
    return arguments, along_axis, across


def check(what, found, expected, faults):
    if abs(found - expected) > TOLERANCE_D * (1 + abs(expected)):
        faults.append(f"{what}: the program says {found}, the ray {expected}")


def stack_faults(program, draw, folder):
    """Faults of one random stack."""
    axis = draw.randint(1, 180)
    arguments, along_axis, across = draw_stack(draw, axis)
    gaps_mm = [draw.randint(0, 80) / 10 for _ in arguments[1:]]
    vertex_mm = draw.randint(0, 160) / 10
    answer = ask(program, "net", "--frame", frame_file(folder, gaps_mm, vertex_mm), *arguments)
    faults = []
    for meridian, powers in [(axis, along_axis), (axis + 90, across)]:
        elements = stack_elements(powers, gaps_mm)
        for name, expected in [
            ("marked", sum(powers)),
            ("net", traced_power(elements)),
            ("cornea", traced_power([*elements, Space(d=vertex_mm)])),
        ]:
            inside, outside = along(answer[name], meridian)
            what = f"{' '.join(arguments)}, gaps {gaps_mm}, vertex {vertex_mm}: {name} along {meridian}"
            check(what, inside, expected, faults)
            check(what + ", out of the meridian", outside, 0.0, faults)
            # the written form says the same: its axis lies in one of the two meridians
            sphere, other, written_axis = written_form(answer[name])
            off = min((written_axis - meridian) % 180, (meridian - written_axis) % 180)
            if abs(sphere - other) > 1e-6:
                check(what + ", as written", sphere if off < 45 else other, expected, faults)
                check(what + ", axis", min(off, abs(90 - off)), 0.0, faults)
    return faults


def move_faults(program, draw):
    """Faults of moving one random prescription nearer the eye."""
    axis = draw.randint(1, 180)
    sphere, cylinder = quarters(draw, 15), quarters(draw, 6)
    to_mm = draw.randint(0, 100) / 10
    from_mm = to_mm + draw.randint(0, 100) / 10
    prescription = f"{sphere:+.2f}/{cylinder:+.2f}x{axis}"
    answer = ask(program, "convert", prescription, "--from", str(from_mm), "--to", str(to_mm))
    faults = []
    for meridian, power in [(axis, sphere), (axis + 90, sphere + cylinder)]:
        what = f"{prescription} from {from_mm} to {to_mm} mm: along {meridian}"
        inside, outside = along(answer["power"], meridian)
        check(what, inside, traced_power([*lens(power), Space(d=from_mm - to_mm)]), faults)
        check(what + ", out of the meridian", outside, 0.0, faults)
    return faults


def main():
    if len(sys.argv) != 2:
        raise SystemExit(__doc__)
    program = sys.argv[1]
    draw = random.Random(20)
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DIOPTRAY_LOGBOOK"] = os.path.join(folder, "logbook.db")
        cases = [lambda: stack_faults(program, draw, folder)] * STACKS + [lambda: move_faults(program, draw)] * MOVES
        for case in cases:
            faults = case()
            failed += bool(faults)
            for fault in faults:
                print(fault)
    print("rays traced by an outside library, stacks and moves of vertex distance:")
    print(f"{len(cases) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
