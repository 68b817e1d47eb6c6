"""Recordings exported and replayed, read back by programs that know nothing of ours."""

import json
import os
import subprocess
import sys
import tempfile
from datetime import datetime, timedelta, timezone
from pathlib import Path

import duckdb
import polars
from lxml import etree

PROGRAM = os.environ["LOOPMARGIN"]
# A good and a poor link, the second with a comma in its name, and readings in several parts.
SITES = [("weavers-yard", "a.jsonl", "90s"), ("canal-lock", "below/b, c.jsonl.zst", "120s"), ("narrow-stair", "d.jsonl", "30s")]
failures = []


def check(what, condition, detail=""):
    print(f"{'ok  ' if condition else 'FAIL'} {what}{'' if condition else f': {detail}'}")
    if not condition:
        failures.append(what)


def run(*args, expect=0, **options):
    done = subprocess.run([PROGRAM, *map(str, args)], capture_output=True, text=True, **options)
    if done.returncode != expect:
        sys.exit(f"{args}: exit code {done.returncode}, expected {expect}\n{done.stderr}")
    return done.stdout


def stem(name):
    return name.removesuffix(".zst").removesuffix(".jsonl")


def record(folder):
    """Some sessions; one of them is cut off."""
    for site, name, length in SITES:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        run("simulate", "--scenario", site, "--for", length, "--record", path)
    cut = folder / "d.jsonl"
    cut.write_bytes(cut.read_bytes()[:-2_000])


def readings(folder):
    """Reading lines of `replay --json`, with the session's name and start."""
    sessions = {}
    for line in map(json.loads, run("replay", folder, "--json").splitlines()):
        if line["type"] == "session":
            name = stem(str(Path(line["path"]).relative_to(folder)))
            rows = sessions.setdefault(name, [])
        elif line["type"] == "reading":
            rows.append(line)
    return sessions


def as_row(name, started, line):
    """A reading line as a table shows it."""
    row = {"session": name, "time": started + timedelta(microseconds=round(line["t_s"] * 1e6))}
    for key, value in line.items():
        if key != "type":
            row[key] = ";".join(value) if isinstance(value, list) else value
    row.setdefault("late", False)
    return row


def compare_rows(what, found, expected):
    """Every value of every row, and the figures that a table is asked for."""
    key = lambda row: (row["session"], row["time"], row["band"], row["seq"])
    found, expected = sorted(found, key=key), sorted(expected, key=key)
    check(f"{what}: {len(expected)} rows", len(found) == len(expected), len(found))
    wrong = [(f, e) for f, e in zip(found, expected) if {k: f[k] for k in e} != e]
    check(f"{what}: every value of every row", not wrong, wrong[:1])


def figures(what, connection, table, expected):
    for column in ["dl_input_dbm", "rsrp_dbm", "loop_margin_db"]:
        rows = connection.execute(
            f"SELECT band, count({column}), sum({column}), quantile_disc({column}, 0.99) FROM {table} GROUP BY band ORDER BY band"
        ).fetchall()
        for band, count, total, p99 in rows:
            values = [r[column] for r in expected if r["band"] == band and r[column] is not None]
            same = count == len(values) and abs((total or 0) - sum(values)) < 1e-6
            check(f"{what}: count and sum of {column} in {band}", same, (count, total))
            ordered = sorted(values)
            rank = max(1, -(-99 * len(ordered) // 100))
            check(f"{what}: p99 of {column} in {band}", p99 == (ordered[rank - 1] if ordered else None), p99)


def tables(folder, out, sessions):
    started = {}
    for name in sessions:
        path = next(p for p in folder.rglob("*.jsonl*") if stem(str(p.relative_to(folder))) == name)
        header = json.loads(run("session", "info", path, "--json"))["header"]
        started[name] = datetime.fromisoformat(header["started"].replace("Z", "+00:00"))
    expected = [as_row(name, started[name], line) for name, rows in sessions.items() for line in rows]
    run("export", folder, "--format", "csv", "--out", out / "csv")
    run("export", folder, "--format", "parquet", "--out", out / "parquet")
    connection = duckdb.connect()
    connection.execute("SET TimeZone = 'UTC'")

    csv = f"read_csv('{out}/csv/**/*.csv', header = true, union_by_name = true, nullstr = '')"
    found = connection.execute(f"SELECT * FROM {csv}")
    names = [d[0] for d in found.description]
    rows = [dict(zip(names, row)) for row in found.fetchall()]
    for row in rows:
        row["time"] = row["time"].replace(tzinfo=timezone.utc) if row["time"].tzinfo is None else row["time"]
        for key in ("dl_limited_by", "ul_limited_by"):
            row[key] = row[key] or ""
    compare_rows("CSV in DuckDB", rows, expected)
    figures("CSV in DuckDB", connection, csv, expected)
    frames = [polars.read_csv(p, try_parse_dates=True, infer_schema_length=None) for p in sorted((out / "csv").rglob("*.csv"))]
    check("CSV in Polars: rows", sum(map(len, frames)) == len(expected))

    parquet = f"read_parquet('{out}/parquet/**/*.parquet', hive_partitioning = true, hive_types_autocast = false)"
    found = connection.execute(f"SELECT * FROM {parquet}")
    names = [d[0] for d in found.description]
    rows = [dict(zip(names, row)) for row in found.fetchall()]
    compare_rows("Parquet in DuckDB", rows, expected)
    figures("Parquet in DuckDB", connection, parquet, expected)
    units = {row["unit"] for row in rows}
    check("Parquet: partitioned by unit and date", units and all(units) and all(row["date"] for row in rows), units)
    pairs = connection.execute(f"SELECT decode(key), decode(value) FROM parquet_kv_metadata('{out}/parquet/**/*.parquet')").fetchall()
    columns = [json.loads(value) for key, value in pairs if key == "loopmargin.columns"]
    check("Parquet: units in the metadata", columns and columns[0]["rsrp_dbm"]["unit"] == "dBm", pairs[:1])
    types = dict(connection.execute(f"SELECT column_name, column_type FROM (DESCRIBE SELECT * FROM {parquet})").fetchall())
    wanted = {"time": "TIMESTAMP WITH TIME ZONE", "rsrp_dbm": "DOUBLE", "seq": "BIGINT", "band": "VARCHAR", "late": "BOOLEAN"}
    check("Parquet: typed columns", all(types[k] == v for k, v in wanted.items()), types)

    frame = polars.scan_parquet(f"{out}/parquet/**/*.parquet", hive_partitioning=True).collect()
    compare_rows("Parquet in Polars", frame.to_dicts(), expected)
    for band in sorted({r["band"] for r in expected}):
        values = sorted(r["rsrp_dbm"] for r in expected if r["band"] == band and r["rsrp_dbm"] is not None)
        column = frame.filter(polars.col("band") == band)["rsrp_dbm"].drop_nulls()
        rank = max(1, -(-99 * len(values) // 100))
        same = abs((column.sum() or 0) - sum(values)) < 1e-6 and (not values or column.sort()[rank - 1] == values[rank - 1])
        check(f"Parquet in Polars: sum and p99 of rsrp_dbm in {band}", same)


def packets(folder, out):
    run("export", folder, "--format", "pcapng", "--out", out / "pcapng")
    for capture in sorted((out / "pcapng").rglob("*.pcapng")):
        name = str(capture.relative_to(out / "pcapng")).removesuffix(".pcapng")
        source = next(p for p in folder.rglob("*.jsonl*") if stem(str(p.relative_to(folder))) == name)
        text = subprocess.run(["zstdcat", "-f", source], capture_output=True, text=True).stdout
        if not text:
            text = source.read_text()
        lines = text[: text.rindex('"crc"')].splitlines()[:-1]
        expected = [
            (line.get("v") or line.get("r") or line.get("w"), line["x"]) for line in map(json.loads, lines) if "x" in line and "t" in line
        ]
        fields = ["btatt.opcode", "btatt.uuid16", "btatt.uuid128", "btatt.value", "_ws.malformed"]
        # Notification, indication, read response, write request.
        wanted = "btatt.opcode in {0x1b, 0x1d, 0x0b, 0x12}"
        told = subprocess.run(
            ["tshark", "-r", capture, "-Y", wanted, "-T", "fields", "-E", "separator=|", *sum((["-e", f] for f in fields), [])],
            capture_output=True,
            text=True,
        ).stdout.splitlines()
        # What the dissector knows itself (strings, record access) it shows in fields of its own: then the packet's bytes
        # behind the opcode, and the handle where there is one.
        known = subprocess.run(
            ["tshark", "-r", capture, "-Y", f"{wanted} && !btatt.value", "-T", "json", "-x"], capture_output=True, text=True
        ).stdout
        raw = [bytes.fromhex(p["_source"]["layers"]["frame_raw"][0])[9:] for p in json.loads(known or "[]")]
        dissected = iter([att[1 if att[0] == 0x0B else 3 :].hex() for att in raw])
        found = []
        for line in told:
            _, short, long, value, malformed = line.split("|")
            uuid = (long or short).split(",")[-1].replace("0x", "").replace(":", "").lower()
            found.append((uuid, value.replace(":", "") or next(dissected)))
            if malformed:
                failures.append(f"malformed packet in {name}")
        values = [value for _, value in found]
        check(f"pcapng in tshark, {name}: {len(expected)} values", values == [x for _, x in expected], (len(found), found[:2], expected[:2]))
        told = {short: uuid for (short, _), (uuid, _) in zip(expected, found)}
        known = {short: uuid for short, uuid in told.items() if uuid}
        check(f"pcapng in tshark, {name}: characteristics are known", len(known) == len(told), told)
        check(f"pcapng in tshark, {name}: each has a UUID of its own", len(set(known.values())) == len(known), known)
        problems = subprocess.run(
            ["tshark", "-r", capture, "-Y", "_ws.malformed || _ws.expert.severity == error"], capture_output=True, text=True
        ).stdout
        check(f"pcapng in tshark, {name}: nothing malformed", not problems, problems[:300])


def json_lines(folder, sessions):
    text = run("replay", folder, "--json")
    told = subprocess.run(
        ["jq", "-s", '[.[] | select(.type == "reading")] | {n: length, sum: (map(.dl_input_dbm // 0) | add)}'],
        input=text,
        capture_output=True,
        text=True,
    )
    found = json.loads(told.stdout)
    rows = [line for lines in sessions.values() for line in lines]
    total = sum(line["dl_input_dbm"] or 0 for line in rows)
    check("JSON Lines in jq: count and sum", found["n"] == len(rows) and abs(found["sum"] - total) < 1e-6, found)


def junit(folder, out):
    schema = etree.XMLSchema(etree.parse(os.environ["JUNIT_SCHEMA"]))
    met, missed = out / "met.xml", out / "missed.xml"
    run("replay", folder, "--write-expect")
    run("replay", folder, "--expect", "--junit", met)
    file = folder / "a.expect.toml"
    file.write_text(file.read_text().replace("verdict = ", "# ").replace("[accounts]", '[[findings]]\ncode = "<&>"\nraised_s = 1.0\n\n[accounts]'))
    (folder / "e.jsonl").write_text("not a recording\n")
    run("replay", folder, "--expect", "--junit", missed, expect=4)
    for path, failed in [(met, 0), (missed, 1)]:
        tree = etree.parse(path)
        check(f"JUnit XML {path.name}: follows the public schema", schema.validate(tree), schema.error_log)
        suite = tree.getroot()
        check(f"JUnit XML {path.name}: {failed} failures", suite.get("failures") == str(failed), suite.attrib)


with tempfile.TemporaryDirectory() as temporary:
    folder, out = Path(temporary) / "sessions", Path(temporary) / "out"
    folder.mkdir()
    out.mkdir()
    record(folder)
    sessions = readings(folder)
    tables(folder, out, sessions)
    packets(folder, out)
    json_lines(folder, sessions)
    junit(folder, out)
print(f"archive: {len(failures)} failures")
sys.exit(1 if failures else 0)
