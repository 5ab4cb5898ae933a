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
from pyspark.sql import SparkSession
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


def failure(task, code, errors):
    """What a task says when its worker ended early: the worker's own words, which name input and row."""
    errors.seek(0)
    said = errors.read().decode("utf-8", "replace").strip()
    return RuntimeError(f"motetrail worker {' '.join(task)}: ended with {code}: {said}")


def run(program, task, streams, metadata, batches):
    """Runs one worker over batches; gives the batches that it writes."""
    command = [program, "worker", *task, "--with", *streams]
    # Its folder stands in one of ours: a worker that is killed leaves nothing behind.
    with tempfile.TemporaryFile() as errors, tempfile.TemporaryDirectory(prefix="motetrail-") as own:
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
                    stream_of(batches, metadata, to)
            except (BrokenPipeError, pa.ArrowInvalid, OSError) as error:
                code = worker.wait()
                if code != 0:
                    raise failure(task, code, errors) from error
                raise
            try:
                with worker.stdout as answer, pa.ipc.open_stream(answer) as stream:
                    for batch in stream:
                        yield pa.RecordBatch.from_arrays(batch.columns, schema=pa.schema(FIELDS))
            except (pa.ArrowInvalid, OSError) as error:
                raise failure(task, worker.wait(), errors) from error
            code = worker.wait()
            if code != 0:
                raise failure(task, code, errors)
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


def pieces(chunk):
    """A function for `mapInArrow`: whole files become pieces of a stream's size."""

    def of_partition(batches):
        for batch in batches:
            kinds, contents = batch.columns
            for kind, content in zip(kinds, contents):
                view = memoryview(content.as_buffer() or b"")
                for place in range(max(1, -(-len(view) // chunk))):
                    piece = bytes(view[place * chunk : (place + 1) * chunk])
                    yield pa.RecordBatch.from_arrays(
                        [
                            pa.array([kind.as_py()], pa.string()),
                            pa.array([place], pa.int64()),
                            pa.array([piece], pa.binary()),
                        ],
                        schema=pa.schema(FIELDS),
                    )

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
        #: The same of what was counted, for those alone who go by it.
        self.counts, self.counts_paths = [], []
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
        return found.select(kind, "content").mapInArrow(pieces(self.chunk), COLUMNS)

    def root(self, folder):
        """A folder as Spark writes it before the paths that it lists."""
        java = self.spark._jvm.org.apache.hadoop.fs.Path(folder)
        system = java.getFileSystem(self.spark._jsc.hadoopConfiguration())
        return system.resolvePath(java).toString().rstrip("/")

    def on_driver(self, task, batches, to, counts=None):
        """Runs a worker on the driver, from batches into a file; what was counted goes to a file of its own."""
        made = run(self.program, task, self.paths, self.metadata, batches)
        schema = pa.schema(FIELDS, metadata=self.metadata)
        with contextlib.ExitStack() as files:
            streams = [
                files.enter_context(pa.ipc.new_stream(files.enter_context(open(path, "wb")), schema))
                for path in [to, counts]
                if path
            ]
            for batch in made:
                # A worker writes every chunk as a batch of its own.
                is_counts = batch.columns[0][0].as_py().startswith("counts")
                streams[-1 if is_counts else 0].write_batch(
                    pa.RecordBatch.from_arrays(batch.columns, schema=schema)
                )

    def local_rows(self, rows):
        """Rows as batches, one after the other."""
        for kind, place, content in rows:
            columns = [pa.array([kind]), pa.array([place]), pa.array([bytes(content)], pa.binary())]
            yield pa.RecordBatch.from_arrays(columns, schema=pa.schema(FIELDS))

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

    def answer(self, task, batches):
        """Runs a worker on the driver that answers with JSON."""
        with tempfile.TemporaryFile() as errors, tempfile.TemporaryFile() as to:
            command = [self.program, "worker", *task, "--with", *self.paths]
            worker = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=to, stderr=errors)
            try:
                with worker.stdin as handed:
                    stream_of(batches, self.metadata, handed)
            except (BrokenPipeError, pa.ArrowInvalid, OSError) as error:
                raise failure(task, worker.wait(), errors) from error
            if worker.wait() != 0:
                raise failure(task, worker.returncode, errors)
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
        exports = self.named(folder, "settings", found.where(F.col("place").isin(wanted)))
        return self.step(["type", "--today", today], exports, F.col("kind"))

    def stored(self):
        """The files of the store, and its manifest as the first of the job's streams."""
        arguments = self.arguments
        if arguments.exports:
            files = self.typed()
            settled = self.here("settled.stream")
            typed = files.where(F.col("kind").startswith("file:")).orderBy("kind", "place")
            self.on_driver(["settle"], self.local(typed), settled)
            with pa.OSFile(settled) as file, pa.ipc.open_stream(file) as stream:
                rows = [row for batch in stream for row in zip(*(c.to_pylist() for c in batch.columns))]
            return files.union(self.rows(rows))
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
            counts = self.counts if stage["needs_counts"] else []
            if takes == ["file"] and not stage["of_tickets"]:
                rows = parts.drop("tickets").unionByName(begin.withColumn("unit", F.lit("")))
                out = self.step(["share", name], rows, F.col("unit"), names=counts)
            else:
                rows = begin
                for kind in takes:
                    for frame in made.get(kind, []):
                        rows = rows.unionByName(frame.where(F.col("kind") == kind))
                if stage["of_tickets"]:
                    # Who looks at all tickets is one task, of all rows.
                    rows = rows.unionByName(tickets.select("kind", "place", "bytes"))
                    out = self.step(["share", name], rows, F.lit(0), partitions=1)
                else:
                    out = self.step(["share", name], rows, F.col("place"), names=counts)
            states = out.where(F.col("kind").rlike("^(state|counts)"))
            joined, counted = self.here(f"{name}.stream"), self.here(f"{name}.counts.stream")
            self.on_driver(["join", name], self.local(states), joined, counted)
            self.send(f"{name}.stream", joined)
            self.spark.sparkContext.addFile(counted)
            self.counts.append(f"{name}.counts.stream")
            self.counts_paths.append(counted)
            for kind in stage["makes"]:
                made.setdefault(kind, []).append(out)
        with open(self.here("tickets.files"), "wb") as to:
            rows = tickets.select("kind", "place", "bytes").orderBy("kind", "place")
            stream_of(self.local(rows), self.metadata, to)
        command = [self.program, "worker", "report", "--out", self.arguments.out, *self.period]
        streams = [*self.paths, *self.counts_paths, self.here("tickets.files")]
        return subprocess.run([*command, "--with", *streams], check=False).returncode


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    source = parser.add_mutually_exclusive_group(required=True)
    source.add_argument("--store", help="a store, on any path that Spark reads")
    source.add_argument("--exports", help="the folder below which the settings' exports stand")
    parser.add_argument("--out", required=True, help="folder for reports, on the driver")
    parser.add_argument("--period", help="fiscal quarter, such as 2026-Q3")
    parser.add_argument("--partitions", type=int, help="tasks of a stage; default: those of the engine")
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
