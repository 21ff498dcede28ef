"""docs/analysis.md is true: each of its blocks runs, in order and in one folder, and prints what is shown below it."""

from __future__ import annotations

from pathlib import Path

import analysis_page


def test_every_block_prints_what_is_shown(light_drives: Path, tmp_path: Path) -> None:
    """One after the other, as a reader would; blocks that print nothing have nothing below them (`make docs` writes them)."""
    folder = analysis_page.prepare(tmp_path, light_drives)
    blocks = analysis_page.blocks()
    text = analysis_page.PATH.read_text("utf-8")

    assert {"sh", "python"} == {kind for kind, _, _ in blocks}
    assert text.count("\n```sh\n") + text.count("\n```python\n") == len(blocks)
    for kind, block, shown in blocks:
        assert shown == analysis_page.run(kind, block, folder), block
