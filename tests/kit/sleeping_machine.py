"""A machine that seems to one program to have slept: its boot-time clock jumps, by a few lines of C before libc."""

from __future__ import annotations

import subprocess
from pathlib import Path

_SOURCE = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

int clock_gettime(clockid_t clock, struct timespec *now) {
    static int (*real)(clockid_t, struct timespec *);
    if (!real) real = (int (*)(clockid_t, struct timespec *))dlsym(RTLD_NEXT, "clock_gettime");
    int code = real(clock, now);
    if (clock == CLOCK_BOOTTIME && code == 0) {
        FILE *file = fopen(getenv("SLEPT_FILE"), "r");
        long slept = 0;
        if (file) {
            if (fscanf(file, "%ld", &slept) != 1) slept = 0;
            fclose(file);
        }
        now->tv_sec += slept;
    }
    return code;
}
"""


class SleepingMachine:
    """Makes the library in a folder; `environment` is for the program that is to sleep."""

    def __init__(self, folder: Path) -> None:
        source, self._library, self._slept = (folder / name for name in ("sleep.c", "sleep.so", "slept"))
        source.write_text(_SOURCE)
        subprocess.run(["gcc", "-shared", "-fPIC", "-o", self._library, source, "-ldl"], check=True)

    @property
    def environment(self) -> dict[str, str]:
        """What the program has to find."""
        return {"LD_PRELOAD": str(self._library), "SLEPT_FILE": str(self._slept)}

    def sleep(self, seconds: int) -> None:
        """Let so much time seem to have passed asleep."""
        whole = self._slept.with_suffix(".new")
        whole.write_text(str(seconds))
        whole.replace(self._slept)
