"""What is salvaged from a damaged drive is what was written into it, table by table, whatever page was struck."""

from __future__ import annotations

import random
import shutil
import sqlite3
from decimal import Decimal
from pathlib import Path

import pytest

from logger.core.mending import Facts, mend
from logger.errors import DamagedError, StoreError
from logger.model import (
    Action,
    Before,
    Decision,
    Drive,
    Fix,
    HeardWord,
    Hypothesis,
    Issue,
    Recognition,
    Status,
)
from logger.store import DriveStore, schema
from logger.store.restoring import restore
from logger.store.salvaging import salvage

PAGE = 4096
DRIVE = Drive(1_900_000_000_000_000_000, 'units = "metric"\n' + "# a long sheet\n" * 600)
CALLS = 400
FIXES = 3000


def made(folder: Path, calls: int, fixes: int) -> Path:
    """A drive of so many stretches, half of them calls, and fixes, with nothing left in its log."""
    words = tuple(HeardWord(word, 1, 2) for word in ("checkpoint", "sixty", "three", "percent"))
    with DriveStore.create(folder, DRIVE) as store, store.atomic():
        live = store.add_source("microphone 'Visor'", "", 5)
        taken = store.add_source("lap.wav", "ab" * 32, 10**9)
        for number in range(calls):
            source = live if number < calls // 2 else taken
            clip = f"clips/{source.id:03d}-{number * 32000:010d}.flac"
            kept = store.add_utterance(source.id, number * 32_000, 16_000, number * 2 * 10**9, clip)
            answers = tuple(
                Hypothesis(rank, words, -1.0 - rank, (rank * 0.5,)) for rank in range(8 * (number % 2))
            )
            store.add_recognition(Recognition(kept.id, "both", answers))
        for at in (10, 20):
            store.add_longer(at, at + 1)
        store.finish_source(taken.id, 123)
        way = [Fix(10**18 + at, 52.0 + at / 1e5, 1.0, None, 25.0, 0.9) for at in range(fixes)]
        store.add_track_file("lap.gpx", "cd" * 32, way)
        store.add_decision(
            Decision(0, 7, "me", Action.REPLACE, "12-2", "trip", Decimal("97.40"), "mi", None, "dash")
        )
        for number in range(60):
            store.add_issue(Issue("live_leap", f"the receiver leapt {number} km"))
    db = sqlite3.connect(folder / "drive.sqlite")
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.close()
    return folder


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive of 400 stretches and 3000 fixes. Only to be copied."""
    return made(tmp_path_factory.mktemp("whole") / "drive", CALLS, FIXES)


def copied(whole: Path, to: Path) -> Path:
    """A copy of the drive."""
    return Path(shutil.copytree(whole, to / "drive"))


def strike(folder: Path, pages: list[int], seed: int = 1) -> None:
    """Overwrite pages, counted from 1, with noise."""
    rng = random.Random(seed)
    with (folder / "drive.sqlite").open("r+b") as file:
        for page in pages:
            file.seek((page - 1) * PAGE)
            file.write(rng.randbytes(PAGE))


def root_of(folder: Path, name: str) -> int:
    """The first page of a table or index."""
    db = sqlite3.connect(folder / "drive.sqlite")
    page = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = ?", (name,)).fetchone()[0]
    db.close()
    return int(page)


def numbers(facts: Facts) -> dict[str, int]:
    """How many rows there are, table by table."""
    return {
        "sources": len(facts.sources),
        "utterances": len(facts.utterances),
        "begun": len(facts.begun),
        "recognitions": len(facts.recognitions),
        "hypotheses": len(facts.hypotheses),
        "fixes": len(facts.fixes),
        "decisions": len(facts.decisions),
        "issues": len(facts.issues),
        "longer": len(facts.longer),
    }


ALL = {
    "sources": 2,
    "utterances": CALLS,
    "begun": CALLS,
    "recognitions": CALLS,
    "hypotheses": 8 * CALLS // 2,
    "fixes": FIXES,
    "decisions": 1,
    "issues": 60,
    "longer": 2,
}


def test_a_whole_drive(whole: Path, tmp_path: Path) -> None:
    """Of a drive without damage everything is there, and a drive made of it says the same through the store."""
    facts = salvage(whole)
    restore(tmp_path / "again", DRIVE, facts)

    assert ALL == numbers(facts)
    assert facts.drive == DRIVE
    with (
        DriveStore.open(whole, readonly=True) as old,
        DriveStore.open(tmp_path / "again", readonly=True) as new,
    ):
        for read in (
            DriveStore.drive, DriveStore.sources, DriveStore.utterances, DriveStore.latest_recognitions, DriveStore.fixes,
            DriveStore.decisions, DriveStore.issues,
        ):  # fmt: skip
            assert read(old) == read(new)


@pytest.mark.parametrize(
    ("name", "differs"),
    [
        ("drive", {}),  # it is kept in drive.json too
        ("source", {}),  # what its index tells
        ("sqlite_autoindex_source_1", {}),
        ("utterance", {}),  # the inner page of a table: nothing but a signpost
        ("sqlite_autoindex_utterance_1", {}),
        ("sqlite_autoindex_recognition_1", {}),
        ("fix", {}),
        ("hypothesis", {}),
        ("issue", {}),  # its index has them all
        ("decision", {"decisions": 0}),
        ("longer", {"longer": 0}),
    ],
)
def test_the_first_page_of_each(whole: Path, tmp_path: Path, name: str, differs: dict[str, int]) -> None:
    """Whatever table or index loses its first page, by which SQLite finds all others, little or nothing is lost."""
    folder = copied(whole, tmp_path)
    strike(folder, [root_of(folder, name)])
    with pytest.raises(
        DamagedError, match=r"is damaged; .+ `odovox recover \S+ --out NEW`, which makes a new drive"
    ):
        DriveStore.open(folder)
    facts = salvage(folder)
    found, expected = numbers(facts), ALL | differs

    assert facts.drive == DRIVE
    # A signpost of a table without numbers holds a few rows itself.
    assert all(
        expected[key] - 60 * (key in {"fixes", "hypotheses"}) <= found[key] <= expected[key]
        for key in expected
    ), found


@pytest.mark.parametrize("seed", range(8))
def test_any_pages(whole: Path, tmp_path: Path, seed: int) -> None:
    """Three pages anywhere, the header among them now and then: the rest is there, and nothing that never was."""
    folder = copied(whole, tmp_path)
    rng = random.Random(seed)
    count = (folder / "drive.sqlite").stat().st_size // PAGE
    strike(
        folder,
        [1, *rng.sample(range(2, count + 1), 2)] if seed % 2 else rng.sample(range(2, count + 1), 3),
        seed,
    )
    true, facts = salvage(whole), salvage(folder)

    assert facts.drive == DRIVE
    assert facts.fixes.items() <= true.fixes.items()
    assert facts.hypotheses.items() <= true.hypotheses.items()
    assert facts.utterances.items() <= true.utterances.items()
    assert facts.recognitions.items() <= true.recognitions.items()
    assert facts.decisions.items() <= true.decisions.items()
    assert facts.issues.items() <= true.issues.items()
    assert len(facts.fixes) > FIXES - 3 * 120
    assert len(facts.hypotheses) > ALL["hypotheses"] - 3 * 40
    assert len(facts.begun) == CALLS


def test_a_file_cut_short(whole: Path, tmp_path: Path) -> None:
    """What is left of a file that lost its second half is found, though it ends within a page."""
    folder = copied(whole, tmp_path)
    path = folder / "drive.sqlite"
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2 + 99])
    with pytest.raises(DamagedError):
        DriveStore.open(folder, readonly=True)
    facts = salvage(folder)

    assert facts.fixes or facts.hypotheses
    assert CALLS // 4 < len(facts.begun) <= CALLS


def test_a_damaged_log(whole: Path, tmp_path: Path) -> None:
    """Calls that are in the write-ahead log only are found, though it is damaged before them, where SQLite stops reading."""
    folder = copied(whole, tmp_path)
    store = DriveStore.open(folder)
    for number in range(30):
        store.add_issue(Issue("late", f"issue {number}"))
    log = folder / "drive.sqlite-wal"
    content = bytearray(log.read_bytes())
    rest = Path(shutil.copytree(folder, tmp_path / "left"))
    store.close()
    content[2000:2100] = random.Random(3).randbytes(100)  # in the first frame
    (rest / "drive.sqlite-wal").write_bytes(content)
    (rest / "drive.sqlite-shm").unlink()
    facts = salvage(rest)

    with DriveStore.open(rest, readonly=True) as seen:
        assert len(seen.issues()) == 60
    assert len(facts.issues) == 90


def damaged_somehow(content: bytes, rng: random.Random) -> bytes:
    """A file with a few of those things done to it that disks, cables and people do to files."""
    damaged = bytearray(content)
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(damaged))
        sector = at // 512 * 512
        match rng.choice(["noise", "zeros", "bits", "shift", "swap", "cut"]):
            case "noise":
                damaged[sector : sector + 512] = rng.randbytes(512)
            case "zeros":
                damaged[sector : sector + 512] = bytes(512)
            case "bits":
                for _ in range(20):
                    damaged[rng.randrange(len(damaged))] ^= 1 << rng.randrange(8)
            case "shift":
                damaged[at : at + 200] = damaged[at + 1 : at + 201]
            case "swap":
                other = rng.randrange(len(damaged)) // 512 * 512
                damaged[sector : sector + 512], damaged[other : other + 512] = (
                    damaged[other : other + 512],
                    damaged[sector : sector + 512],
                )
            case _:
                del damaged[max(PAGE, at) :]
    return bytes(damaged)


def test_any_damage(tmp_path: Path) -> None:
    """Whatever is done to the file, opening it works or is one line of ours, and a drive can be made of what is left."""
    true = made(tmp_path / "true" / "drive", calls=40, fixes=200)
    content = (true / "drive.sqlite").read_bytes()
    clips = {
        (each.source_id, each.first_sample): (each.clip, each.sample_count)
        for each in salvage(true).utterances.values()
        if each.id % 2 == 0
    }
    refused: list[str] = []
    for seed in range(60):
        folder, new = tmp_path / f"{seed}", tmp_path / f"{seed}-new"
        folder.mkdir()
        shutil.copy(true / "drive.json", folder)
        (folder / "drive.sqlite").write_bytes(damaged_somehow(content, random.Random(seed)))
        try:
            read_all(folder)
        except StoreError as error:
            refused.append(str(error))
        restore(new, DRIVE, mend(salvage(folder), clips).facts)
        read_all(new)
    assert len(refused) > 30
    assert not [line for line in refused if "please report" in line]


def read_all(folder: Path) -> None:
    """Read every table of a drive."""
    with DriveStore.open(folder, readonly=True) as store:
        for read in (
            DriveStore.drive, DriveStore.sources, DriveStore.utterances, DriveStore.latest_recognitions, DriveStore.fixes,
            DriveStore.decisions, DriveStore.issues, DriveStore.entries,
        ):  # fmt: skip
            read(store)


def test_decisions_of_a_review(tmp_path: Path) -> None:
    """With what the entry was, a note's text and what is withdrawn; and those of a drive from before there were reviews."""
    was = Before(Status.FLAGGED, "charge", Decimal(19), "%", "")
    decided = [
        Decision(1, 7, "me", Action.REPLACE, "1-1", "charge", Decimal(90), "%", None, "", "", "90", was),
        Decision(2, 8, "me", Action.WITHDRAW, "1-1", "charge", None, "", None, "", withdraws=1),
        Decision(3, 9, "me", Action.ADD, "", "note", None, "", 5, "said so", "headwind", "headwind"),
    ]
    with DriveStore.create(tmp_path / "new", DRIVE) as store:
        for each in decided:
            store.add_decision(each)
        assert dict(enumerate(decided, start=1)) == salvage(store.folder).decisions

    (tmp_path / "old").mkdir()
    db = sqlite3.connect(tmp_path / "old" / "drive.sqlite")
    schema.migrate(db, schema.MIGRATIONS[:3])
    row = (7, "me", "replace", "1-1", "charge", "90", "%", None, "dash")
    db.execute("INSERT INTO decision VALUES (4, ?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
    db.commit()
    db.close()
    (old,) = salvage(tmp_path / "old").decisions.values()
    assert Decision(4, 7, "me", Action.REPLACE, "1-1", "charge", Decimal(90), "%", None, "dash") == old


def test_nothing_to_salvage(tmp_path: Path) -> None:
    """A folder without a database is refused; one full of noise gives nothing."""
    with pytest.raises(StoreError, match=r"there is no drive\.sqlite in it"):
        salvage(tmp_path)
    (tmp_path / "drive.sqlite").write_bytes(random.Random(1).randbytes(30 * PAGE))
    facts = salvage(tmp_path)
    assert facts.drive is None
    assert 0 == sum(numbers(facts).values())
