"""Runs the steps in turn, several rounds; prints CPU seconds, peaks and ratios, and writes them to README.md.

    pair.py SCALE FLEET WORK ROUNDS     SCALE is the built bench `scale`

The table of this many inspections in README.md is replaced, or added behind the others.
"""

import os
import pathlib
import re
import shutil
import statistics
import subprocess
import sys
from importlib import metadata

HERE = pathlib.Path(__file__).parent
README = HERE / "README.md"
INTAKES = ["polars-intake", "duckdb-intake", "pandas-intake", "datafusion-intake"]
ENGINES = ["polars", "duckdb", "pandas", "pyarrow", "datafusion"]
#: What stands before the first table and behind the last.
FIRST, LAST = "<!-- pairs -->\n", "<!-- end of pairs -->\n"


def ours(scale, step, fleet, store):
    """CPU seconds, peak MiB, rows and totals of one step of this program."""
    line = subprocess.run(
        [scale, f"step-{step}", fleet, store], check=True, capture_output=True, text=True
    ).stdout.split()
    return float(line[1]), float(line[3]), " ".join(line[5:]), int(line[4])


def theirs(step, *folders):
    """CPU seconds, peak MiB and totals of a step in another engine."""
    line = subprocess.run(
        [sys.executable, HERE / "others.py", step, *folders],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split()
    return float(line[1]), float(line[2]), " ".join(line[3:])


def emptied(folder):
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    return folder


def one_round(scale, fleet, work, turn):
    """Each step once. Who goes first changes from round to round."""
    store = work / "store"

    def of(other):
        # DuckDB derives from what its own intake has written.
        return lambda: theirs(other, fleet, emptied(work / other.removesuffix("-intake")))

    intakes = [("intake", lambda: ours(scale, "intake", fleet, emptied(store)))]
    intakes += [(other, of(other)) for other in INTAKES]
    derivations = [
        ("derive", lambda: ours(scale, "derive", fleet, store)),
        ("duckdb-derive", lambda: theirs("duckdb-derive", work / "duckdb")),
    ]
    measured = {}
    for steps in (intakes, derivations, [("measure", lambda: ours(scale, "measure", fleet, store))]):
        first = turn % len(steps)
        for name, step in steps[first:] + steps[:first]:
            measured[name] = step()
    return measured


def spread(values, form):
    values = sorted(values)
    return " / ".join(format(v, form) for v in (values[0], statistics.median(values), values[-1]))


def shown(values, form):
    """One figure of one round, the spread of several."""
    return format(values[0], form) if len(values) == 1 else spread(values, form)


def title(inspections):
    return f"### {inspections:,} inspections\n"


def table(rounds, inspections, size):
    """The lines of README.md."""
    paired = {other: "intake" for other in INTAKES} | {"duckdb-derive": "derive"}
    versions = ", ".join(f"{name} {metadata.version(name)}" for name in ENGINES)
    rows = rounds[0]["intake"][3]
    times = "1 round" if len(rounds) == 1 else f"{len(rounds)} rounds: minimum / median / maximum"
    lines = [
        title(inspections),
        f"\n{rows:,} rows, {size:.0f} MiB of CSV, {os.cpu_count()} cores, {times}.\n{versions}.\n\n",
        "| step | CPU s | peak MiB | ours / theirs, CPU |\n|---|---|---|---|\n",
    ]
    for name in rounds[0]:
        cpu = shown([measured[name][0] for measured in rounds], ".2f")
        peak = shown([measured[name][1] for measured in rounds], ".0f")
        ratio = ""
        if name in paired:
            ours_of = paired[name]
            ratio = shown(
                [measured[ours_of][0] / measured[name][0] for measured in rounds], ".3f"
            )
        lines.append(f"| {name} | {cpu} | {peak} | {ratio} |\n")
    return "".join(lines)


def put(text, inspections, lines):
    """The text of README.md with the lines in place of those of as many inspections."""
    before, rest = text.split(FIRST)
    kept, after = rest.split(LAST)
    sections = [part for part in re.split(r"(?m)^(?=### )", kept) if part.startswith("### ")]
    sections = [part.rstrip() + "\n" for part in sections if not part.startswith(title(inspections))]
    sections.append(lines)

    def count(section):
        return int(section.split()[1].replace(",", ""))

    sections.sort(key=count)
    return before + FIRST + "\n" + "\n".join(sections) + "\n" + LAST + after


def main():
    scale, fleet, work = (pathlib.Path(argument).resolve() for argument in sys.argv[1:4])
    inspections = int(fleet.name.rpartition("-")[2])
    rounds = [one_round(scale, fleet, work, turn) for turn in range(int(sys.argv[4]))]
    size = sum(path.stat().st_size for path in fleet.glob("exports/*/*")) / 2**20
    lines = table(rounds, inspections, size)
    print(lines)
    for name, measured in rounds[0].items():
        print(f"{name:<18} {measured[2]}")
    README.write_text(put(README.read_text(encoding="utf-8"), inspections, lines), encoding="utf-8")


main()
