"""The same work as intake and derivation, by other engines: one step a process.

    others.py polars-intake FLEET OUT         CSV -> zstd Parquet
    others.py duckdb-intake FLEET OUT         CSV -> zstd Parquet
    others.py pandas-intake FLEET OUT         CSV -> zstd Parquet
    others.py datafusion-intake FLEET OUT     CSV -> zstd Parquet
    others.py duckdb-derive OUT               that Parquet -> the count tables

Prints CPU seconds, peak MiB and totals on one line. CPU is counted from when Python and its
libraries are loaded: starting them is not the work.
"""

import pathlib
import resource
import sys

TABLES = ["looks", "cleanings", "matings", "faults"]
TIMES = {"at", "demated_at", "opened", "cleared"}
NUMBERS = {"downtime_min", "labour_min", "visits"}
FORMAT = "%Y-%m-%dT%H:%M:%SZ"
FLAGS = {"capped"}
MONEY = {"cost"}


def columns(fleet, table):
    """Column names of a table's exports, which all have one header."""
    first = min((fleet / "exports" / "plain").glob(f"{table}-*.csv"))
    with first.open(encoding="utf-8") as lines:
        return lines.readline().strip().split(",")


def pattern(fleet, table):
    return str(fleet / "exports" / "plain" / f"{table}-*.csv")


def polars_intake(fleet, out):
    import polars as pl

    def typed(name):
        column = pl.col(name)
        if name in TIMES:
            return column.str.to_datetime(FORMAT, time_unit="us")
        if name in NUMBERS:
            return column.cast(pl.Int64)
        if name in FLAGS:
            return (column == "yes").alias(name)
        if name in MONEY:
            return (column.cast(pl.Float64) * 100).round().cast(pl.Int64)
        return column

    def work():
        for table in TABLES:
            names = columns(fleet, table)
            frame = pl.scan_csv(pattern(fleet, table), infer_schema=False)
            frame = frame.with_columns([typed(name) for name in names])
            frame.sink_parquet(out / f"{table}.parquet", compression="zstd", compression_level=1)
        return ""

    return work


def duckdb_intake(fleet, out):
    import duckdb

    def kind(name):
        if name in TIMES:
            return "TIMESTAMP"
        if name in MONEY:
            return "DECIMAL(18, 2)"
        return "BIGINT" if name in NUMBERS else "VARCHAR"

    def typed(name):
        if name in FLAGS:
            return f"{name} = 'yes' AS {name}"
        # Quoted, since a column is called "at", which is a word of SQL.
        return f"CAST({name} * 100 AS BIGINT) AS {name}" if name in MONEY else f'"{name}"'

    def work():
        database = duckdb.connect()
        for table in TABLES:
            names = columns(fleet, table)
            kinds = ", ".join(f"'{name}': '{kind(name)}'" for name in names)
            select = ", ".join(typed(name) for name in names)
            database.execute(
                f"COPY (SELECT {select} FROM read_csv('{pattern(fleet, table)}', header = true, "
                f"auto_detect = false, delim = ',', quote = '\"', columns = {{{kinds}}}, "
                f"timestampformat = '{FORMAT}')) TO '{out / table}.parquet' "
                "(FORMAT parquet, COMPRESSION zstd, COMPRESSION_LEVEL 1)"
            )
        return ""

    return work


def pandas_intake(fleet, out):
    import pandas as pd

    def typed(frame):
        for name in frame.columns:
            if name in TIMES:
                frame[name] = pd.to_datetime(frame[name], format=FORMAT, utc=True).dt.as_unit("us")
            elif name in NUMBERS:
                frame[name] = pd.to_numeric(frame[name]).astype("Int64")
            elif name in FLAGS:
                frame[name] = frame[name] == "yes"
            elif name in MONEY:
                frame[name] = (pd.to_numeric(frame[name]) * 100).round().astype("Int64")
        return frame

    def work():
        for table in TABLES:
            files = sorted((fleet / "exports" / "plain").glob(f"{table}-*.csv"))
            # All of a table at once, as is usual with pandas; its quickest reader.
            read = [pd.read_csv(file, dtype="string[pyarrow]", engine="pyarrow") for file in files]
            frame = typed(pd.concat(read, ignore_index=True))
            frame.to_parquet(
                out / f"{table}.parquet", index=False, compression="zstd", compression_level=1
            )
        return ""

    return work


def datafusion_intake(fleet, out):
    import datafusion
    import pyarrow as pa

    def typed(name):
        # Quoted, since a column is called "at", which is a word of SQL.
        quoted = f'"{name}"'
        if name in TIMES:
            return f"to_timestamp_micros({quoted}, '{FORMAT}') AS {quoted}"
        if name in NUMBERS:
            return f"CAST({quoted} AS BIGINT) AS {quoted}"
        if name in FLAGS:
            return f"{quoted} = 'yes' AS {quoted}"
        if name in MONEY:
            return f"CAST(CAST({quoted} AS DECIMAL(18, 2)) * 100 AS BIGINT) AS {quoted}"
        return quoted

    def work():
        context = datafusion.SessionContext()
        for table in TABLES:
            names = columns(fleet, table)
            files = sorted((fleet / "exports" / "plain").glob(f"{table}-*.csv"))
            context.register_csv(
                table,
                [str(file) for file in files],
                schema=pa.schema([(name, pa.string()) for name in names]),
                has_header=True,
            )
            select = ", ".join(typed(name) for name in names)
            frame = context.sql(f"SELECT {select} FROM {table}")
            frame.write_parquet(
                str(out / f"{table}.parquet"), compression="zstd", compression_level=1
            )
        return ""

    return work


def duckdb_derive(out):
    import duckdb

    here = pathlib.Path(__file__).parent
    scripts = [(here / name).read_text(encoding="utf-8") for name in ("derive.sql", "counts.sql")]

    def work():
        database = duckdb.connect()
        database.execute(f"SET temp_directory = '{out / 'spill'}'")
        for table in TABLES:
            database.execute(f"CREATE VIEW {table} AS FROM read_parquet('{out / table}.parquet')")
        for script in scripts:
            database.execute(script)
        totals = database.execute("FROM totals").fetchall()
        return " ".join(f"{name}={count}" for name, count in totals)

    return work


def cpu():
    usage = resource.getrusage(resource.RUSAGE_SELF)
    return usage.ru_utime + usage.ru_stime


def main():
    steps = {
        "polars-intake": polars_intake,
        "duckdb-intake": duckdb_intake,
        "pandas-intake": pandas_intake,
        "datafusion-intake": datafusion_intake,
        "duckdb-derive": duckdb_derive,
    }
    work = steps[sys.argv[1]](*map(pathlib.Path, sys.argv[2:]))
    before = cpu()
    totals = work()
    spent = cpu() - before
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{sys.argv[1]} {spent:.2f} {peak:.1f} {totals}")


main()
