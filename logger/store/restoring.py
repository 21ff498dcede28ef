"""A new drive folder from facts that were salvaged, each row with the number that it had."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from logger.core.mending import Facts
from logger.model import Drive
from logger.store import beside, connection, records, schema
from logger.store.drive_store import this_software
from logger.store.failures import explaining


def restore(folder: Path, drive: Drive, facts: Facts) -> None:
    """Make a drive in a folder that has none, with these facts in it and no entries yet.

    Raises:
        StoreError: there is a drive already, or it cannot be written.
    """
    db = connection.make(folder)
    try:
        with explaining(folder / connection.FILE_NAME):
            db.execute("BEGIN IMMEDIATE")
            schema.migrate(db)
            for table, rows in _tables(drive, facts):
                for row in rows:
                    marks = ", ".join("?" * len(row))
                    db.execute(f"INSERT INTO {table} VALUES ({marks})", row)  # noqa: S608  (our own names)
            db.execute("COMMIT")
    finally:
        db.close()
    beside.write(folder, drive, this_software())


def _tables(drive: Drive, facts: Facts) -> Iterable[tuple[str, list[records.Row]]]:
    """Return the rows of each table; what is referred to comes first."""
    yield (
        "drive (id, began_utc_ns, sheet_toml, software)",
        [(1, drive.began_utc_ns, drive.sheet_toml, this_software())],
    )
    sources = [facts.sources[number] for number in sorted(facts.sources)]
    yield (
        f"source ({records.SOURCE})",
        [(each.id, each.name, each.sha256, each.start_ns, each.sample_count) for each in sources],
    )
    utterances = [facts.utterances[number] for number in sorted(facts.utterances)]
    yield (
        f"utterance ({records.UTTERANCE})",
        [
            (each.id, each.source_id, each.first_sample, each.sample_count, each.start_ns, each.clip)
            for each in utterances
        ],
    )
    yield (
        "recognition (id, utterance_id, recogniser)",
        [(number, *each) for number, each in sorted(facts.recognitions.items())],
    )
    yield (
        f"hypothesis (recognition_id, {records.HYPOTHESIS})",
        [(key[0], *records.hypothesis_row(each)) for key, each in sorted(facts.hypotheses.items())],
    )
    yield "track_file (id, name, sha256)", [(number, *each) for number, each in sorted(facts.tracks.items())]
    yield (
        f"fix (track_file_id, number, {records.FIX})",
        [(*key, *records.fix_row(each)) for key, each in sorted(facts.fixes.items())],
    )
    yield (
        f"decision ({records.DECISION})",
        [(number, *records.decision_row(each)) for number, each in sorted(facts.decisions.items())],
    )
    yield (
        "issue (id, code, message)",
        [(number, each.code, each.message) for number, each in sorted(facts.issues.items())],
    )
    yield "longer (utterance_id, longer_id)", sorted(facts.longer.items())
