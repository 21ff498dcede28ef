"""Sound to recognise, made the same way each time from seeds.

| module | what it gives |
|---|---|
| `voices` | the synthetic voices, in three groups that share no speaker |
| `speaking` | `say`: a voice speaks a text; kept in a cache on disk |
| `human` | calls joined from the recorded words of a human speaker |
| `calls` | random calls of the call-out language with what they mean |
| `talk` | what a driver says besides calls |
| `noise` | cabin noise, and mixing at a stated speech-to-noise ratio |
| `drive` | a whole drive's sound with calls at known samples |

Sound is int16 mono at 16 kHz throughout.
"""

from __future__ import annotations

from logger.model import RATE_HZ, Samples

__all__ = ["RATE_HZ", "Samples"]
