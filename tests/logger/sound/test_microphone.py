"""The microphone on a real sound server: what goes in comes out, when it went in, and what happens when it breaks."""

from __future__ import annotations

import itertools
import time

import numpy as np
import pytest
from numpy.typing import NDArray
from sound_server import Feed, SoundServer
from stamps import known_sound, lag, late_ms

from logger.errors import SoundLostError
from logger.model import RATE_HZ, CapturedBlock
from logger.sound.microphone import FIRST_BLOCK_S, STALL_S, Microphone

NANO = 1_000_000_000
WORST_STAMP_MS = 40.0
"""Play times here are themselves known only to the 10 ms of a chunk; docs/live.md has the figures measured."""


def listen(microphone: Microphone, seconds: float) -> list[CapturedBlock]:
    """All blocks of some seconds."""
    until = time.monotonic() + seconds
    blocks = []
    while time.monotonic() < until:
        block = microphone.read(0.5)
        if block is not None:
            blocks.append(block)
    return blocks


def joined(blocks: list[CapturedBlock]) -> NDArray[np.int16]:
    """The sound of blocks that follow one another."""
    for before, after in itertools.pairwise(blocks):
        assert after.first_sample == before.first_sample + len(before.samples)
    return np.concatenate([block.samples for block in blocks])


@pytest.mark.parametrize("rates_hz", [(RATE_HZ,), (48_000,), (44_100,), (7, 48_000)], ids=str)
def test_what_is_played_is_heard_at_its_time(server: SoundServer, rates_hz: tuple[int, ...]) -> None:
    """Every sample comes, in order, with its moment; at other rates too, and where the first rate is refused."""
    known = known_sound(5)
    with Feed(server, known) as feed, Microphone(rates_hz=rates_hz) as microphone:
        blocks = listen(microphone, 3)
        late = late_ms(known, blocks, feed.began_ns)
    sound = joined(blocks)

    assert microphone.rate_hz == rates_hz[-1]
    assert lag(known, sound)[1] > 0.99
    assert len(sound) > 2.5 * RATE_HZ
    assert (microphone.overflows, microphone.lost_samples) == (0, 0)
    assert microphone.stamped_by_device
    assert np.abs(late).max() < WORST_STAMP_MS
    assert np.ptp(late) < 25.0
    assert len(late) >= 6


def test_a_late_reader_loses_only_what_is_counted(server: SoundServer) -> None:
    """With room for a second, a reader away for two and a half is told how much was lost, and the rest is in its place."""
    known = known_sound(8)
    with Feed(server, known) as feed, Microphone(kept_s=1.0) as microphone:
        first = listen(microphone, 1)
        time.sleep(2.5)
        later = listen(microphone, 2)
        gap = next(index for index, block in enumerate(later) if block.lost_samples)
        played, alike = lag(known, joined(later[gap:]))
        ended = lag(known, joined(first + later[:gap]))[0] + len(joined(first + later[:gap]))

    assert alike > 0.99
    assert microphone.overflows == 1
    assert microphone.lost_samples == later[gap].lost_samples
    assert abs(microphone.lost_samples - (played - ended)) < 0.03 * RATE_HZ
    assert (
        abs(
            later[-1].start_mono_ns
            - feed.began_ns
            - (played * NANO // RATE_HZ)
            - (later[-1].first_sample - later[gap].first_sample) * NANO // RATE_HZ
        )
        < WORST_STAMP_MS * 1e6
    )


def test_a_killed_server_is_told_and_another_is_found(server: SoundServer) -> None:
    """The end of the server is an error within two seconds, opening fails while it is gone, and works when it is back."""
    known = known_sound(6)
    with Feed(server, known):
        microphone = Microphone()
        assert listen(microphone, 0.7)
        server.kill()
        killed = time.monotonic()
        with pytest.raises(SoundLostError, match="has stopped: unplugged, or the sound server"):
            listen(microphone, 5)
        assert time.monotonic() - killed < 2.0
        microphone.close()
        microphone.close()
        with pytest.raises(Exception, match="no microphone found; plug one in"):
            Microphone()
    server.start()
    again = known_sound(5, seed=6)
    with Feed(server, again) as feed, Microphone() as microphone:
        blocks = listen(microphone, 2.5)
        late = late_ms(again, blocks, feed.began_ns)

    assert np.abs(late).max() < WORST_STAMP_MS


def test_a_microphone_that_goes_quiet_is_lost(server: SoundServer) -> None:
    """No error from the device and no sound either: after two seconds it is taken for lost."""
    feed = Feed(server, known_sound(5))
    with feed, Microphone() as microphone:
        assert listen(microphone, 0.5)
        feed.end()
        quiet = time.monotonic()
        with pytest.raises(SoundLostError, match="has given no sound for 2 s"):
            list(microphone.blocks())
        # What was in the pipe still comes.
        assert STALL_S - 0.2 < time.monotonic() - quiet < STALL_S + 1.0


def test_a_microphone_that_never_begins_is_lost(server: SoundServer) -> None:
    """Nobody feeds it: after three seconds that is said, with a way out."""
    began = time.monotonic()
    with Microphone() as microphone, pytest.raises(SoundLostError, match="--microphone"):
        next(microphone.blocks())

    assert FIRST_BLOCK_S - 0.2 < time.monotonic() - began < FIRST_BLOCK_S + 1.0


def test_a_server_that_hangs_for_a_moment_loses_nothing_silently(server: SoundServer) -> None:
    """Frozen for a second: afterwards all there is lies in its place, and what is missing is counted."""
    known = known_sound(9)
    with Feed(server, known) as feed, Microphone() as microphone:
        before = listen(microphone, 1.5)
        server.freeze()
        time.sleep(1.0)
        server.thaw()
        after = listen(microphone, 3.5)
    tail = [block for block in after if block.first_sample >= after[-1].first_sample - 2 * RATE_HZ // 2]
    ended = lag(known, joined(before))[0] + len(joined(before))
    played, alike = lag(known, joined(tail))
    missing = played - ended - (tail[0].first_sample - before[-1].first_sample - len(before[-1].samples))
    late = (tail[0].start_mono_ns - feed.began_ns) / 1e6 - played * 1e3 / RATE_HZ

    assert alike > 0.99
    assert abs(missing - microphone.lost_samples) < 0.1 * RATE_HZ
    # What waited in the pipe is heard late, as it would be from no real microphone: up to the second of the freeze.
    assert -WORST_STAMP_MS < late < 1000 + WORST_STAMP_MS
