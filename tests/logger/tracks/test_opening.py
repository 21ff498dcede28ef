"""What the readers share: bytes, decoding, and the judgement that nothing was usable."""

from __future__ import annotations

from pathlib import Path

import pytest

from logger.errors import TrackError
from logger.model import Fix, Issue
from logger.tracks.opening import decoded, finite, read_bytes, track_file


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_text_is_decoded_by_its_mark(encoding: str) -> None:
    """UTF-8 with and without a mark, and UTF-16 with one, give the same text."""
    text = "Größe, 45°\r\n"

    assert text == decoded(text.encode(encoding))


def test_bytes_that_are_no_text_still_decode() -> None:
    """A stray byte becomes a replacement mark; what is around it stays."""
    decoded_text = decoded(b"time\xff,lat")

    assert "time\ufffd,lat" == decoded_text


def test_a_file_of_white_space_is_empty(tmp_path: Path) -> None:
    """Blank lines alone are nothing to read."""
    path = tmp_path / "blank.csv"
    path.write_bytes(b" \r\n\r\n")
    with pytest.raises(TrackError, match=f"{path}: is empty"):
        read_bytes(path)


def test_only_finite_numbers_are_values() -> None:
    """Infinity and not-a-number are absent; zero is a value."""
    values = [finite(value) for value in (0.0, -1.5, None, float("nan"), float("inf"))]

    assert [0.0, -1.5, None, None, None] == values


def test_no_fix_says_why() -> None:
    """The error of a file without fixes repeats what was odd about it; with one fix there is none."""
    issue = Issue("track_bad_row", "7 rows could not be read")
    fix = Fix(0, 45.0, 13.0)
    with pytest.raises(TrackError, match="no usable fix \\(7 rows could not be read\\); name a track"):
        track_file(Path("drive.csv"), [], [issue])

    assert (fix,) == track_file(Path("drive.csv"), [fix], [issue]).fixes
