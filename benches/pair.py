"""Runs the steps in turn, several rounds, and prints CPU seconds, peaks and ratios.

    pair.py SCALE FLEET WORK ROUNDS     SCALE is the built bench `scale`
"""

import os
import pathlib
import shutil
import statistics
import subprocess
import sys

HERE = pathlib.Path(__file__).parent


def ours(scale, step, fleet, store):
    """CPU seconds, peak MiB and totals of one step of this program."""
    line = subprocess.run(
        [scale, f"step-{step}", fleet, store], check=True, capture_output=True, text=True
    ).stdout.split()
    return float(line[1]), float(line[3]), " ".join(line[5:])


def theirs(step, *folders):
    """The same of a step in another engine."""
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
    store, polars, duckdb = work / "store", work / "polars", work / "duckdb"
    intakes = [
        ("intake", lambda: ours(scale, "intake", fleet, emptied(store))),
        ("polars-intake", lambda: theirs("polars-intake", fleet, emptied(polars))),
        ("duckdb-intake", lambda: theirs("duckdb-intake", fleet, emptied(duckdb))),
    ]
    derivations = [
        ("derive", lambda: ours(scale, "derive", fleet, store)),
        ("duckdb-derive", lambda: theirs("duckdb-derive", duckdb)),
    ]
    measured = {}
    for steps in (intakes, derivations):
        first = turn % len(steps)
        for name, step in steps[first:] + steps[:first]:
            measured[name] = step()
    return measured


def spread(values, form):
    values = sorted(values)
    return " / ".join(format(v, form) for v in (values[0], statistics.median(values), values[-1]))


def main():
    scale, fleet, work = (pathlib.Path(argument).resolve() for argument in sys.argv[1:4])
    rounds = [one_round(scale, fleet, work, turn) for turn in range(int(sys.argv[4]))]
    size = sum(path.stat().st_size for path in fleet.glob("exports/*/*")) / 2**20
    print(f"{os.cpu_count()} cores, {size:.0f} MiB of CSV, {len(rounds)} rounds")
    print("min / median / max over the rounds")
    for name in rounds[0]:
        cpu = spread([measured[name][0] for measured in rounds], ".2f")
        peak = spread([measured[name][1] for measured in rounds], ".0f")
        print(f"{name:<14} cpu s {cpu:<26} peak MiB {peak:<20} {rounds[0][name][2]}")
    for step, other in [
        ("intake", "polars-intake"),
        ("intake", "duckdb-intake"),
        ("derive", "duckdb-derive"),
    ]:
        ratios = [measured[step][0] / measured[other][0] for measured in rounds]
        print(f"cpu of {step} / {other:<14} {spread(ratios, '.3f')}")


main()
