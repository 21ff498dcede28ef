"""`odovox demo`: the bundled sample drive, from sound to log."""

from __future__ import annotations

import shlex
from pathlib import Path

import click


@click.command(name="demo")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--samples", type=click.Path(path_type=Path), help="Folder of sample drives; not given, the bundled ones."
)
def command(folder: Path, samples: Path | None) -> None:
    """Turn the bundled sample drive into the drive folder DIR and show its log.

    The exit code is 0 although entries are in doubt: the sample has such entries on purpose.

    \b
    Example:
        odovox demo demo-drive
    """  # noqa: D301  (click reads the backspace)
    from logger.cli.output import write_bytes, write_text
    from logger.cli.talk import Teller, say, summary_text
    from logger.tables import write
    from logger.wiring.demo import doubts, find_sample, ingest_sample
    from logger.wiring.log_table import log_table

    sample = find_sample(samples)
    teller = Teller()
    try:
        summary = ingest_sample(sample, folder, teller)
    finally:
        teller.clear()
    table = log_table(folder)
    write_bytes("-", lambda stream: write(table, "table", stream))
    write_text("-", "\n" + doubts(folder))
    say(summary_text(summary, str(folder)))
    say(f"what it came to: `odovox report {shlex.quote(str(folder))} -o report.html`")
