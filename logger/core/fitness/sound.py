"""Judging what a microphone gave while nobody or somebody spoke, and whether it heard the read-back. Pure.

The limits are our own judgement, not from a standard.
"""

from __future__ import annotations

from logger.core.fitness.findings import Check, Figure, Finding, State
from logger.core.levels import clipped_share, loud_dbfs, noise_floor_dbfs, peak_dbfs
from logger.core.sweep import Found
from logger.model import RATE_HZ, Samples

MUTED_DBFS = -78.0
"""Four steps of 16 bits: no more than rounding noise and dither, as for sound files."""
FAINT_DBFS = -60.0
NOISY_DBFS = -25.0
SPOKEN_DB = 12.0
"""Loud frames so far above the quiet ones are speech, or as good as speech for showing the level."""
_CLIPPED_SAMPLES = 16
_CLIPPED_FEW, _CLIPPED_MANY = 1e-4, 1e-2


def judge_level(samples: Samples, lost_samples: int) -> Finding:
    """Judge how loud the sound of some seconds was."""
    noise, loud, peak = noise_floor_dbfs(samples), loud_dbfs(samples), peak_dbfs(samples)
    lost_s = lost_samples / RATE_HZ
    figures: dict[str, Figure] = {
        "seconds": round(len(samples) / RATE_HZ, 2),
        "noise_dbfs": round(noise, 1),
        "loud_dbfs": round(loud, 1),
        "peak_dbfs": round(peak, 1),
        "lost_s": round(lost_s, 3),
    }
    heard = f"noise {noise:.0f} dBFS, loudest {loud:.0f} dBFS"
    if peak <= MUTED_DBFS:
        todo = "unmute it in the system's sound settings, or name another one with --microphone"
        return Finding(Check.LEVEL, State.FAILED, "it gives nothing but silence", todo, figures)
    if lost_samples:
        todo = "close other programs; if it happens again, use another USB port or microphone"
        return Finding(
            Check.LEVEL, State.WARNING, f"{heard}, but {lost_s:.2f} s of sound were lost", todo, figures
        )
    if noise > NOISY_DBFS:
        todo = "turn the microphone's gain down, or move it away from the fan"
        return Finding(Check.LEVEL, State.WARNING, f"{heard}: so much noise hides speech", todo, figures)
    if loud < FAINT_DBFS:
        todo = "turn its gain up, and say a call while the meter runs"
        return Finding(Check.LEVEL, State.WARNING, f"{heard}: very faint", todo, figures)
    spoken = "" if loud - noise >= SPOKEN_DB else " (nobody spoke)"
    return Finding(Check.LEVEL, State.OK, heard + spoken, "", figures)


def judge_clipping(samples: Samples) -> Finding:
    """Judge how much of the sound was cut off at full scale."""
    share = clipped_share(samples)
    figures = {"clipped_share": round(share, 6)}
    if round(share * len(samples)) < _CLIPPED_SAMPLES or share < _CLIPPED_FEW:
        return Finding(Check.CLIPPING, State.OK, "none of the sound is cut off at full scale", "", figures)
    state = State.FAILED if share >= _CLIPPED_MANY else State.WARNING
    what = f"{100 * share:.2g} % of the sound is cut off at full scale"
    return Finding(Check.CLIPPING, state, what, "turn the microphone's gain down", figures)


def judge_readback(kind: str, found: Found | None, delay_s: float | None) -> Finding:
    """Judge whether what was played was heard.

    Args:
        kind: "tone" or "voice".
        found: where it was found in the capture; None where no microphone listened.
        delay_s: from being asked to play to being heard; None where it was not found.
    """
    heard = found is not None and found.is_there
    figures: dict[str, Figure] = {
        "kind": kind,
        "played": True,
        "heard": heard if found is not None else None,
        "strength": round(found.strength, 1) if found is not None else None,
        "delay_s": round(delay_s, 3) if heard and delay_s is not None else None,
    }
    if found is None:
        what = f"the {kind} was played, and there is no microphone to tell whether it can be heard"
        return Finding(Check.READBACK, State.WARNING, what, "listen for it yourself", figures)
    if not heard:
        what = f"the {kind} was played, but the microphone did not hear it"
        todo = "turn the loudspeaker up and see that it is not muted; with headphones this is as it should be"
        return Finding(Check.READBACK, State.WARNING, what, todo, figures)
    after = f" {delay_s:.2f} s after it was asked for" if delay_s is not None else ""
    return Finding(Check.READBACK, State.OK, f"the microphone heard the {kind}{after}", "", figures)


def readback_off() -> Finding:
    """Return the finding for a drive without read-back."""
    figures: dict[str, Figure] = {
        "kind": "off",
        "played": False,
        "heard": None,
        "strength": None,
        "delay_s": None,
    }
    return Finding(Check.READBACK, State.OK, "off, as asked for", "", figures)
