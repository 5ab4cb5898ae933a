"""A review of motetrail on Apache Spark (4.x), written by `motetrail cluster`.

The engine moves chunks of bytes between tasks; every rule is in the program beside this file, which the
tasks run as a filter from stream to stream. So nothing of the trade stands here.

    spark-submit job.py --store STORE --out REPORTS          a store of Parquet parts
    spark-submit job.py --exports FOLDER --out REPORTS       exports, typed by the tasks

STORE and FOLDER are paths that Spark reads, REPORTS is a folder on the driver. With --exports the
environment variable MOTETRAIL_PEOPLE_KEY must name, on every executor (spark.executorEnv), the file with
the key of pseudonyms, beside it the list of people erased: only tasks that type exports read it, and it goes nowhere else.
"""

import argparse
import contextlib
import datetime
import functools
import itertools
import json
import os
import stat
import subprocess
import sys
import tempfile

import pyarrow as pa
from pyspark import StorageLevel
from pyspark.files import SparkFiles
from pyspark.sql import DataFrame, SparkSession
from pyspark.sql import functions as F

COLUMNS = "kind string, place bigint, bytes binary"
FIELDS = [
    pa.field("kind", pa.string(), nullable=False),
    pa.field("place", pa.int64(), nullable=False),
    pa.field("bytes", pa.binary(), nullable=False),
]
HERE = os.path.dirname(os.path.abspath(__file__))


def stream_of(batches, metadata, to):
    """Writes batches of the three columns as a sealed stream; the caller closes `to`."""
    schema = pa.schema(FIELDS, metadata=metadata)
    with pa.ipc.new_stream(to, schema) as stream:
        for batch in batches:
            columns = [column.cast(field.type) for column, field in zip(batch.columns, FIELDS)]
            stream.write_batch(pa.RecordBatch.from_arrays(columns, schema=schema))


class Handed:
    """What a worker was handed so far."""

    def __init__(self):
        self.rows, self.last, self.files = 0, "nothing", {}

    def noted(self, batches):
        for batch in batches:
            for kind, place in zip(batch.columns[0].to_pylist(), batch.columns[1].to_pylist()):
                self.rows, self.last = self.rows + 1, f"{kind}, place {place}"
                if kind.startswith("file:") and len(self.files) < 10:
                    self.files[kind[len("file:") :]] = None
            yield batch

    def said(self):
        files = f"; files: {', '.join(self.files)}" if self.files else ""
        return f"{self.rows} rows, the last: {self.last}{files}"


def failure(task, code, errors, handed, at=""):
    """What a task says when its worker ended early: the worker's own words, how far it was, and what it was handed."""
    errors.seek(0)
    said = errors.read().decode("utf-8", "replace").strip() or "it said nothing"
    with contextlib.suppress(OSError), open(at, encoding="utf-8") as file:
        said = f"{said}; it had read up to {file.read()}"
    return RuntimeError(
        f"motetrail worker {' '.join(task)}: ended with {code}: {said} (it was handed {handed.said()})"
    )


def run(program, task, streams, metadata, batches):
    """Runs one worker over batches; gives the batches that it writes."""
    handed = Handed()
    # Its folder stands in one of ours: a worker that is killed leaves nothing behind.
    with tempfile.TemporaryFile() as errors, tempfile.TemporaryDirectory(prefix="motetrail-") as own:
        at = os.path.join(own, "at")
        told = ["--at", at] if task[0] == "type" else []
        command = [program, "worker", *task, *told, "--with", *streams]
        worker = subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=errors,
            env={**os.environ, "TMPDIR": own},
        )
        try:
            try:
                # A worker reads all before it writes anything.
                with worker.stdin as to:
                    stream_of(handed.noted(batches), metadata, to)
            except (BrokenPipeError, pa.ArrowInvalid, OSError) as error:
                code = worker.wait()
                if code != 0:
                    raise failure(task, code, errors, handed, at) from error
                raise
            try:
                with worker.stdout as answer, pa.ipc.open_stream(answer) as stream:
                    for batch in stream:
                        yield pa.RecordBatch.from_arrays(batch.columns, schema=pa.schema(FIELDS))
            except (pa.ArrowInvalid, OSError) as error:
                raise failure(task, worker.wait(), errors, handed, at) from error
            code = worker.wait()
            if code != 0:
                raise failure(task, code, errors, handed, at)
        finally:
            if worker.poll() is None:
                worker.kill()
                worker.wait()


def on_executors(task, names, metadata):
    """A function for `mapInArrow`: the worker of `task`, with streams that were sent to every executor."""

    def of_partition(batches):
        # A partition without a row needs no worker.
        batches = iter(batches)
        first = next((batch for batch in batches if batch.num_rows), None)
        if first is None:
            return
        batches = itertools.chain([first], batches)
        program = SparkFiles.get("motetrail")
        os.chmod(program, os.stat(program).st_mode | stat.S_IXUSR)
        streams = [SparkFiles.get(name) for name in names]
        yield from run(program, task, streams, metadata, batches)

    return of_partition


def row(kind, place, content):
    """A batch of one row."""
    columns = [pa.array([kind]), pa.array([place]), pa.array([content], pa.binary())]
    return pa.RecordBatch.from_arrays(columns, schema=pa.schema(FIELDS))


def pieces(chunk):
    """A function for `mapInArrow`: whole files become pieces of a stream's size."""

    def of_partition(batches):
        for batch in batches:
            for kind, content in zip(*batch.columns):
                view = memoryview(content.as_buffer() or b"")
                for place in range(max(1, -(-len(view) // chunk))):
                    piece = bytes(view[place * chunk : (place + 1) * chunk])
                    yield row(kind.as_py(), place, piece)

    return of_partition


def read_pieces(chunk):
    """The same of files that are read piece by piece, since they are too large for a cell of the engine's."""

    def of_partition(batches):
        for batch in batches:
            for kind, path in zip(*(column.to_pylist() for column in batch.columns)):
                scheme, _, local = path.partition(":")
                if scheme != "file":
                    local = SparkFiles.get(os.path.basename(path))
                with open(local, "rb") as file:
                    for place in itertools.count():
                        piece = file.read(chunk)
                        # A file without a byte is a file, too.
                        if piece or place == 0:
                            yield row(kind, place, piece)
                        if len(piece) < chunk:
                            break

    return of_partition


class Job:
    """One run of the job."""

    def __init__(self, spark, arguments):
        with open(os.path.join(HERE, "job.json"), encoding="utf-8") as file:
            about = json.load(file)
        self.spark, self.arguments = spark, arguments
        self.metadata, self.stages = about["metadata"], about["stages"]
        self.chunk = about["chunk"]
        self.program = os.path.join(HERE, "motetrail")
        os.chmod(self.program, os.stat(self.program).st_mode | stat.S_IXUSR)
        self.folder = tempfile.TemporaryDirectory(prefix="motetrail-")
        self.partitions = arguments.partitions or spark.sparkContext.defaultParallelism
        #: Streams that every task is handed: names on the executors, paths here.
        self.names, self.paths = [], []
        #: Of what was counted: streams for those stages that go by it, and all of it for the report.
        self.cells, self.counts = [], []
        spark.sparkContext.addFile(self.program)
        self.send("settings.stream", os.path.join(HERE, "settings.stream"))
        self.period = ["--period", arguments.period] if arguments.period else []

    def send(self, name, path):
        """Sends a stream to every executor; tasks from now on are handed it."""
        self.spark.sparkContext.addFile(path)
        self.names.append(name)
        self.paths.append(path)

    def here(self, name):
        return os.path.join(self.folder.name, name)

    def environment(self):
        """That of workers on the driver: what a killed one leaves goes with the job's own folder."""
        return {**os.environ, "TMPDIR": self.folder.name}

    def rows(self, rows):
        return self.spark.createDataFrame(rows, COLUMNS)

    def files(self, folder):
        """Files below a path that Spark reads. It opens only those that a condition on `place` leaves."""
        reader = self.spark.read.format("binaryFile").option("recursiveFileLookup", "true")
        return reader.load(folder).withColumn("place", F.col("_metadata.file_path"))

    def named(self, folder, prefix, found):
        """Such files as pieces, with the names that a stream gives them."""
        name = F.substring(F.col("path"), len(self.root(folder)) + 2, 1 << 20)
        kind = F.concat(F.lit(f"file:{prefix}/"), name).alias("kind")
        most = self.arguments.stream_above
        small = found.where(F.col("length") <= most).select(kind, "content")
        named = small.mapInArrow(pieces(self.chunk), COLUMNS)
        # The engine's reader puts a file into one cell, which holds 2 GB at most.
        large = found.where(F.col("length") > most).select(kind, "path").collect()
        if not large:
            return named
        fetched = [file.path for file in large if not file.path.startswith("file:")]
        if len({os.path.basename(path) for path in fetched}) < len(fetched):
            raise ValueError(
                f"found exports of more than {most} bytes that share a name, expected different names: "
                f"{', '.join(fetched)}; bring them in by `motetrail intake`, and give the job the store"
            )
        for path in fetched:
            # By the engine's own connectors to the disk of every executor.
            self.spark.sparkContext.addFile(path)
        large = self.spark.createDataFrame(large, "kind string, path string")
        large = large.repartition(min(large.count(), self.partitions), "kind")
        return named.unionByName(large.mapInArrow(read_pieces(self.chunk), COLUMNS))

    def root(self, folder):
        """A folder as Spark writes it before the paths that it lists."""
        java = self.spark._jvm.org.apache.hadoop.fs.Path(folder)
        system = java.getFileSystem(self.spark._jsc.hadoopConfiguration())
        return system.resolvePath(java).toString().rstrip("/")

    def on_driver(self, task, batches, to, **apart):
        """Runs a worker on the driver, from batches into a file; what is kept apart goes to files of its own, by kind."""
        made = run(self.program, task, self.paths, self.metadata, batches)
        schema = pa.schema(FIELDS, metadata=self.metadata)
        with contextlib.ExitStack() as files:
            streams = {
                kind: files.enter_context(pa.ipc.new_stream(files.enter_context(open(path, "wb")), schema))
                for kind, path in {"": to, **apart}.items()
            }
            for batch in made:
                # A worker writes every chunk as a batch of its own.
                kind = batch.columns[0][0].as_py().partition(":")[0]
                stream = streams.get(kind, streams[""])
                stream.write_batch(pa.RecordBatch.from_arrays(batch.columns, schema=schema))

    def local_rows(self, rows):
        """Rows as batches, one after the other."""
        for kind, place, content in rows:
            yield row(kind, place, bytes(content))

    def local(self, frame):
        """Rows of a frame on the driver, one after the other."""
        return self.local_rows(frame.toLocalIterator(prefetchPartitions=False))

    def step(self, task, rows, unit, partitions=None, names=()):
        """Runs a worker on every partition; all rows of a unit come to one of them, pieces in order."""
        parts = rows.repartition(partitions or self.partitions, unit)
        parts = parts.sortWithinPartitions("kind", "place")
        worker = on_executors([*task, *self.period], [*self.names, *names], self.metadata)
        made = parts.mapInArrow(worker, COLUMNS).persist(StorageLevel.DISK_ONLY)
        # All tasks at once; reading them one after the other comes later.
        made.count()
        return made

    def apart(self, frame):
        """The same rows as a frame that knows nothing of how they came about, but where they are and how to make them again.

        A plan has in it the plans of all frames that it goes by, each as often as it is used: after a dozen stages the
        engine's own description of it fills its memory.
        """
        rows = frame._jdf.queryExecution().toRdd()
        made = self.spark._jsparkSession.internalCreateDataFrame(rows, frame._jdf.schema(), False)
        return DataFrame(made, self.spark)

    def answer(self, task, batches):
        """Runs a worker on the driver that answers with JSON."""
        handed = Handed()
        with tempfile.TemporaryFile() as errors, tempfile.TemporaryFile() as to:
            command = [self.program, "worker", *task, "--with", *self.paths]
            worker = subprocess.Popen(
                command, stdin=subprocess.PIPE, stdout=to, stderr=errors, env=self.environment()
            )
            try:
                with worker.stdin as file:
                    stream_of(handed.noted(batches), self.metadata, file)
            except (BrokenPipeError, pa.ArrowInvalid, OSError) as error:
                raise failure(task, worker.wait(), errors, handed) from error
            if worker.wait() != 0:
                raise failure(task, worker.returncode, errors, handed)
            to.seek(0)
            return json.load(to)

    def typed(self):
        """Exports to the files of a store."""
        today = self.arguments.today or datetime.datetime.now(datetime.timezone.utc).date().isoformat()
        folder = self.arguments.exports
        found = self.files(folder)
        # The program says which files the settings name: nothing else leaves the folder.
        root = len(self.root(folder)) + 1
        rows = found.select("path", "place").collect()
        places = {f"settings/{row.path[root:]}": row.place for row in rows}
        named = self.local_rows([(f"file:{name}", 0, b"") for name in places])
        wanted = [places[name] for name in self.answer(["exports"], named) if name in places]
        exports = found.where(F.col("place").isin(wanted))
        every = self.arguments.range_above
        short = self.named(folder, "settings", exports.where(F.col("length") <= every))
        task, kind = ["type", "--today", today], F.col("kind")
        typed = self.step(task, short, kind)
        long = exports.where(F.col("length") > every)
        if not long.head(1):
            return self.apart(typed)
        cut = self.step(["cut", "--every", str(every)], self.named(folder, "settings", long), kind)
        # A range is a number and the name of its export, behind what its files are. Folders of exports may be numbers, too.
        export = F.regexp_replace(kind, "^file:(?:ranges|typed)/[0-9]+/[^/]+/", "")
        number = F.regexp_extract(kind, "^file:(?:ranges|typed)/([0-9]+)/", 1)
        ranges = self.step(task, cut, F.concat(number, F.lit(" "), export))
        is_range = kind.startswith("file:typed/")
        bound = self.step(["bind", "--today", today], ranges.where(is_range), export)
        # What could not be cut is typed by now; what must be read as a whole after all is read once more.
        whole = bound.where(kind.startswith("file:whole/")).select("kind").collect()
        names = [row.kind.replace("file:whole/", "file:", 1) for row in whole]
        again = self.named(folder, "settings", long).where(kind.isin(names))
        made = [typed, ranges.where(~is_range), bound.where(~kind.startswith("file:whole/"))]
        if names:
            made.append(self.step(task, again, kind))
        return self.apart(functools.reduce(lambda all, more: all.unionByName(more), made))

    def ledger(self, made, name):
        """Makes the manifest of exports as typed, or as settled; of an export the later entry stands."""
        path = self.here(name)
        entries = (self.local(rows.where("kind = 'entry'")) for rows in made)
        self.on_driver(["ledger"], itertools.chain.from_iterable(entries), path)
        return path

    def settled(self, typed):
        """Which records stand: by source, table and record, then export by export."""
        unsettled = self.ledger([typed], "typed.stream")
        self.send("typed.stream", unsettled)
        exports = self.answer(["files"], iter([]))["exports"]
        units = [(f"file:{name}", place) for place, names in enumerate(exports) for name in names]
        units = self.spark.createDataFrame(units, "kind string, unit bigint")
        parts = typed.join(F.broadcast(units), "kind").select("kind", "place", "bytes", "unit")
        claims = self.step(["claims"], parts, F.col("unit"))
        verdicts = self.step(["judge"], claims, F.col("place"))
        of_exports = parts.unionByName(verdicts.withColumn("unit", F.col("place")))
        fates = self.step(["fates"], of_exports, F.col("unit"))
        manifest = self.ledger([typed, fates], "settled.stream")
        # What stood before anything was settled is of no use any more.
        self.names.remove("typed.stream")
        self.paths.remove(unsettled)
        with pa.OSFile(manifest) as file, pa.ipc.open_stream(file) as stream:
            rows = [row for batch in stream for row in zip(*(c.to_pylist() for c in batch.columns))]
        return self.apart(typed.union(fates).where("kind <> 'entry'").union(self.rows(rows)))

    def stored(self):
        """The files of the store, and its manifest as the first of the job's streams."""
        arguments = self.arguments
        if arguments.exports:
            return self.settled(self.typed())
        # The key of pseudonyms stands beside them and is not opened.
        kept = self.files(arguments.store).where(
            F.col("place").rlike("/(manifest[.]json|(parts|dropped)/[^/]*)$")
        )
        return self.named(arguments.store, "store", kept).persist(StorageLevel.DISK_ONLY)

    def base(self, stored):
        """Sends what every task needs of the store; says which files belong together."""
        manifest = stored.where(F.col("kind") == "file:store/manifest.json").orderBy("place")
        wanted = self.answer(["files"], self.local(manifest))
        shared = F.col("kind").isin([f"file:{name}" for name in wanted["shared"]])
        rows = stored.where(shared | F.col("kind").startswith("unread")).orderBy("kind", "place")
        with open(self.here("base.stream"), "wb") as to:
            stream_of(self.local(rows), self.metadata, to)
        self.send("base.stream", self.here("base.stream"))
        tickets = {name for unit in wanted["tickets"] for name in unit}
        units = [
            (f"file:{name}", unit[0], name in tickets) for unit in wanted["units"] for name in unit
        ]
        return self.spark.createDataFrame(units, "kind string, unit string, tickets boolean")

    def review(self):
        stored = self.stored()
        units = self.base(stored)
        parts = stored.join(F.broadcast(units), "kind")
        parts = parts.select("kind", "place", "bytes", "unit", "tickets")
        tickets = parts.where("tickets")
        begin = self.rows([("begin", 0, b"")])
        made = {}
        for stage in self.stages:
            name, takes = stage["name"], stage["takes"]
            cells = self.cells if stage["needs_counts"] else []
            if takes == ["file"]:
                rows = tickets if stage["of_tickets"] else parts
                rows = rows.drop("tickets").unionByName(begin.withColumn("unit", F.lit("")))
                out = self.step(["share", name], rows, F.col("unit"), names=cells)
            else:
                rows = begin
                for kind in takes:
                    for frame in made.get(kind, []):
                        rows = rows.unionByName(frame)
                if stage["one_task"]:
                    out = self.step(["share", name], rows, F.lit(0), partitions=1)
                else:
                    out = self.step(["share", name], rows, F.col("place"), names=cells)
            states = out.where(F.col("kind").rlike("^(state|counts)"))
            kinds = ["stream", "cells", "counts"]
            joined, cells, counts = (self.here(f"{name}.{kind}") for kind in kinds)
            self.on_driver(["join", name], self.local(states), joined, cells=cells, counts=counts)
            self.send(f"{name}.stream", joined)
            self.spark.sparkContext.addFile(cells)
            self.cells.append(f"{name}.cells")
            self.counts.append(counts)
            for kind in stage["makes"]:
                made.setdefault(kind, []).append(self.apart(out.where(F.col("kind") == kind)))
        with open(self.here("tickets.files"), "wb") as to:
            rows = tickets.select("kind", "place", "bytes").orderBy("kind", "place")
            stream_of(self.local(rows), self.metadata, to)
        command = [self.program, "worker", "report", "--out", self.arguments.out, *self.period]
        streams = [*self.paths, *self.counts, self.here("tickets.files")]
        command = [*command, "--with", *streams]
        return subprocess.run(command, check=False, env=self.environment()).returncode


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    source = parser.add_mutually_exclusive_group(required=True)
    source.add_argument("--store", help="a store, on any path that Spark reads")
    source.add_argument("--exports", help="the folder below which the settings' exports stand")
    parser.add_argument("--out", required=True, help="folder for reports, on the driver")
    parser.add_argument("--period", help="fiscal quarter, such as 2026-Q3")
    parser.add_argument("--partitions", type=int, help="tasks of a stage; default: those of the engine")
    parser.add_argument(
        "--stream-above",
        type=int,
        default=1 << 27,
        help="files of more bytes are read piece by piece; default: 128 MiB; the engine's limit is 2 GiB",
    )
    parser.add_argument(
        "--range-above",
        type=int,
        default=1 << 28,
        help="exports of more bytes are cut into ranges of so many, a task each; default: 256 MiB",
    )
    parser.add_argument("--today", help="day (UTC) of the intake; default: today")
    arguments = parser.parse_args()
    spark = (
        SparkSession.builder.appName("motetrail")
        # A row is a chunk of up to a mebibyte: few make a batch.
        .config("spark.sql.execution.arrow.maxRecordsPerBatch", "16")
        .config("spark.sql.inMemoryColumnarStorage.batchSize", "16")
        # What was read would else be held a hundred batches long.
        .config("spark.serializer.objectStreamReset", "1")
        # Every partition is a worker of its own; merging them on the fly would make few large ones.
        .config("spark.sql.adaptive.enabled", "false")
        .getOrCreate()
    )
    try:
        code = Job(spark, arguments).review()
    finally:
        spark.stop()
    sys.exit(code)


if __name__ == "__main__":
    main()
