"""`odovox check` as a person runs it: with the real gpsd and a real sound server, and with each of them broken."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from command_line import CommandLine, command, one_line_error
from gps_receiver import Receiver, free_port
from jsonschema import Draft202012Validator
from sound_server import RATE_HZ, Feed, SoundServer

from logger.core.fitness.findings import Check
from logger.model import Drive
from logger.store import DriveStore
from logger.voices.espeak import speak

REPOSITORY = Path(__file__).resolve().parents[2]
SCHEMA = json.loads((REPOSITORY / "logger" / "cli" / "check.schema.json").read_text(encoding="utf-8"))
QUICK = ("--seconds", "1", "--recogniser", "pocketsphinx")
QUIET = np.random.default_rng(9).normal(0, 40, 60 * RATE_HZ).astype(np.int16)


class Run:
    """What a run of `odovox check` said."""

    def __init__(self, done: subprocess.CompletedProcess[str]) -> None:
        self.code, self.stderr, self.stdout = done.returncode, done.stderr, done.stdout
        assert "Traceback" not in self.stderr
        for noise in ("ALSA lib", "Expression '", "LOG ("):
            assert noise not in self.stderr, self.stderr
        assert all(line.startswith("odovox: ") for line in self.stderr.splitlines()), self.stderr

    @property
    def lines(self) -> dict[str, tuple[str, str]]:
        """For each name its state and the rest of its line."""
        split = [line.split(maxsplit=2) for line in self.stdout.splitlines()]
        assert len(split) == len(Check)
        return {name: (state, text) for state, name, text in split}

    @property
    def checks(self) -> dict[str, dict[str, Any]]:
        """The members of `checks` of a JSON object that keeps its schema."""
        told = json.loads(self.stdout)
        Draft202012Validator(SCHEMA).validate(told)
        states = [each["state"] for each in told["checks"].values()]
        assert told["fit"] == (self.code == 0)
        assert (told["warnings"], told["failures"]) == (states.count("warning"), states.count("failed"))
        assert [each.value for each in Check] == list(told["checks"])
        checks: dict[str, dict[str, Any]] = told["checks"]
        return checks

    def states(self) -> dict[str, str]:
        """For each check its state, by the JSON object."""
        return {name: each["state"] for name, each in self.checks.items()}


def check(run: CommandLine, server: SoundServer | None, *arguments: str | Path, **extra: str) -> Run:
    """Run it; without a server there is no sound at all."""
    nowhere = {"XDG_RUNTIME_DIR": str(run.folder), "PULSE_SERVER": f"unix:{run.folder}/none"}
    return Run(
        subprocess.run(
            command("check", *arguments),
            capture_output=True,
            text=True,
            check=False,
            timeout=90,
            cwd=run.folder,
            env=run.environment | (nowhere if server is None else server.environment) | extra,
        )
    )


def but(**others: str) -> dict[str, str]:
    """All states, ok but for these."""
    return {each.value: "ok" for each in Check} | others


def test_all_is_fit(run: CommandLine, tmp_path: Path) -> None:
    """Everything is there, somebody says a call, the tone is heard: eleven lines, all ok, and exit code 0 in time."""
    call = speak("checkpoint sixty three percent")
    said = QUIET.copy()
    said[4 * RATE_HZ : 4 * RATE_HZ + len(call)] += call // 2
    began_s = time.monotonic()
    with SoundServer(room=True) as server, Receiver(3) as receiver, Feed(server, said, room=True):
        done = check(run, server, "--gpsd", receiver.address, "--out", tmp_path / "drive", "--seconds", "7")
    took_s = time.monotonic() - began_s
    lines = done.lines

    assert {"ok"} == {state for state, _ in lines.values()}, done.stdout
    assert done.code == 0
    assert took_s < 40  # 14 s on an idle machine, with two seconds more of listening than it does by itself
    assert "'default' at 16 kHz" in lines["microphone"][1]
    assert "the microphone heard the tone 0." in lines["read-back"][1]
    assert lines["recogniser"][1].endswith("'checkpoint sixty three percent'")
    assert "all 105 words" in lines["vocabulary"][1]
    assert f"receiver {receiver.path}" in lines["gpsd"][1]
    assert "with altitude (3D), within 17 m (95 %), HDOP 0.9" in lines["fix"][1]
    assert "of GPS time as it arrives" in lines["clock"][1] or "behind GPS time" in lines["clock"][1]
    told = done.stderr.splitlines()
    assert told[0].startswith("odovox: set up while parked; eyes on the road")
    assert "odovox: fit for a drive, no warnings" == told[-1]
    assert 5 <= sum("dBFS" in line for line in told) <= 9  # the meter, once a second
    assert not (tmp_path / "drive").exists()
    assert [] == list(tmp_path.iterdir())


def test_no_sound_at_all(run: CommandLine, tmp_path: Path) -> None:
    """No sound server, no card: microphone and read-back fail, the rest is looked at all the same."""
    with Receiver(3) as receiver:
        done = check(run, None, "--gpsd", receiver.address, "--json", *QUICK)
    checks = done.checks

    assert but(microphone="failed", level="untried", clipping="untried", readback="failed") == done.states()
    assert done.code == 1
    assert "no microphone found" == checks["microphone"]["what"]
    assert "plug one in" in checks["microphone"]["todo"]
    assert "--readback off" in checks["readback"]["todo"]
    assert checks["fix"]["figures"]["fixes"] >= 5
    assert (
        "odovox: NOT fit for a drive, no warnings; put right: microphone, read-back"
        == (done.stderr.splitlines()[-1])
    )


def test_no_gpsd_and_nobody_hears_the_voice(run: CommandLine, tmp_path: Path) -> None:
    """Gpsd is not there: that fails. The voice goes to a loudspeaker that the microphone is far from: a warning."""
    port = free_port()
    with SoundServer() as server, Feed(server, QUIET):
        done = check(run, server, "--gpsd", f"127.0.0.1:{port}", "--json", "--readback", "voice", *QUICK)
    checks = done.checks

    assert but(readback="warning", gpsd="failed", fix="untried", clock="untried") == done.states()
    assert done.code == 1
    assert f"nobody answers at 127.0.0.1:{port} (Connection refused)" == checks["gpsd"]["what"]
    assert "sudo systemctl start gpsd" in checks["gpsd"]["todo"]
    assert checks["readback"]["figures"]["heard"] is False
    assert "nobody spoke" in checks["level"]["what"]
    assert "" == checks["recogniser"]["figures"]["heard"]


def test_the_voice_is_heard_and_warnings_alone_are_fit(run: CommandLine, tmp_path: Path) -> None:
    """The voice comes back through the microphone; a fix without altitude and a folder with a drive are warnings: exit 0."""
    with DriveStore.create(tmp_path / "drive", Drive(0, "")):
        pass
    with (
        SoundServer(room=True) as server,
        Receiver(2, behind_s=30) as receiver,
        Feed(server, QUIET, room=True),
    ):
        done = check(
            run, server, "--gpsd", receiver.address, "--readback", "voice", "--out", tmp_path / "drive", "--json",
            *QUICK,
        )  # fmt: skip
    checks = done.checks

    assert but(folder="warning", fix="warning", clock="warning") == done.states()
    assert done.code == 0
    assert checks["readback"]["figures"]["heard"] is True
    assert 0.0 < checks["readback"]["figures"]["delay_s"] < 1.5
    assert 2 == checks["fix"]["figures"]["mode"]
    assert pytest.approx(30, abs=1) == checks["clock"]["figures"]["ahead_s"]
    assert "odovox: fit for a drive, 3 warnings" == done.stderr.splitlines()[-1]


def test_no_fix_a_muted_microphone_and_an_unknown_word(run: CommandLine, tmp_path: Path) -> None:
    """Each is told in its own line, with what to do."""
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('lead = "zyxquorp"\n', encoding="utf-8")
    with (
        SoundServer() as server,
        Receiver(1) as receiver,
        Feed(server, np.zeros(60 * RATE_HZ, np.int16)),
    ):
        done = check(run, server, "--gpsd", receiver.address, "--sheet", sheet, "--readback", "off", *QUICK)
    lines = done.lines

    assert done.code == 1
    silent = "it gives nothing but silence; unmute it in the system's sound settings, or name another one with --microphone"
    assert ("FAILED", silent) == lines["level"]
    assert "ok" == lines["clipping"][0] == lines["gpsd"][0] == lines["read-back"][0]
    assert "FAILED" == lines["vocabulary"][0]
    assert "zyxquorp" in lines["vocabulary"][1]
    assert ("untried", "not tried; put vocabulary right first") == lines["recogniser"]
    assert "FAILED" == lines["fix"][0]
    assert "wait under open sky" in lines["fix"][1]
    assert ("untried", "not tried; put fix right first") == lines["clock"]


def test_no_receiver_clipping_and_a_broken_model(run: CommandLine, tmp_path: Path) -> None:
    """Gpsd without a receiver; sound cut off at full scale; a folder that is no model; a file for a folder."""
    loud = np.clip(QUIET.astype(np.int32) * 3000, -32768, 32767).astype(np.int16)
    file = tmp_path / "file"
    file.write_bytes(b"")
    with SoundServer() as server, Receiver(device=False) as receiver, Feed(server, loud):
        done = check(
            run, server, "--gpsd", receiver.address, "--model", tmp_path, "--seconds", "1", "--out", file / "drive",
            "--readback", "off", "--json",
        )  # fmt: skip
    checks = done.checks

    assert but(
        folder="failed", disk="untried", level="warning", clipping="failed", recogniser="failed",
        vocabulary="untried", gpsd="failed", fix="untried", clock="untried",
    ) == done.states()  # fmt: skip
    assert f"{file} is a file" in checks["folder"]["what"]
    assert checks["clipping"]["figures"]["clipped_share"] > 0.5
    assert "gain" in checks["clipping"]["todo"]
    assert str(tmp_path) in checks["recogniser"]["what"]
    assert "gpsd has no receiver" == checks["gpsd"]["what"]


def test_the_sound_server_dies_meanwhile_and_the_receiver_is_silent(run: CommandLine, tmp_path: Path) -> None:
    """While it listens the server is killed: told soon, without noise of libraries, and the rest goes on."""
    with SoundServer() as server, Receiver(0) as receiver, Feed(server, QUIET):
        process = subprocess.Popen(
            command("check", "--gpsd", receiver.address, "--seconds", "20", "--recogniser", "pocketsphinx"),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=run.folder,
            env=run.environment | server.environment,
        )
        assert process.stderr is not None
        heard = ""
        while "dBFS" not in heard:
            heard += process.stderr.readline()
        server.kill()
        stdout, stderr = process.communicate(timeout=60)
    done = Run(subprocess.CompletedProcess([], process.returncode, stdout, heard + stderr))
    lines = done.lines

    assert done.code == 1
    assert "FAILED" == lines["microphone"][0]
    assert "has stopped: unplugged, or the sound server has ended; plug it in again" in lines["microphone"][1]
    assert "FAILED" == lines["read-back"][0]
    assert "ok" == lines["vocabulary"][0]
    assert "FAILED" == lines["gpsd"][0]
    assert f"nothing has come from {receiver.path} yet" in lines["gpsd"][1]


def test_what_hangs_does_not_hold_up_the_rest(run: CommandLine) -> None:
    """Sound server and gpsd are there and do not answer: told in time, and the program ends by itself."""
    began_s = time.monotonic()
    with SoundServer() as server, Receiver(3) as receiver, Feed(server, QUIET):
        server.freeze()
        receiver.freeze()
        done = check(run, server, "--gpsd", receiver.address, *QUICK)
    lines = done.lines

    assert done.code == 1
    assert time.monotonic() - began_s < 30
    assert lines["microphone"][1].startswith("the sound server does not answer; restart it")
    assert "FAILED" == lines["gpsd"][0]
    assert "ok" == lines["vocabulary"][0]
    assert "not gpsd, or it hangs" in lines["gpsd"][1]


def test_without_portaudio(run: CommandLine, tmp_path: Path) -> None:
    """The library is not installed: one clear line for each of what needs it, and the rest works."""
    (tmp_path / "sitecustomize.py").write_text(
        "import ctypes.util\nctypes.util.find_library = lambda name: None\n", encoding="ascii"
    )
    done = check(
        run,
        None,
        "--gpsd",
        f"127.0.0.1:{free_port()}",
        *QUICK,
        PYTHONPATH=f"{tmp_path}{os.pathsep}{REPOSITORY}",
    )
    lines = done.lines

    missing = "the PortAudio library is missing, so no microphone can be opened; install it: sudo apt-get install libportaudio2"
    assert ("FAILED", missing) == lines["microphone"]
    assert "sudo apt-get install libportaudio2" in lines["read-back"][1]
    assert "ok" == lines["recogniser"][0]


def test_without_a_voice(run: CommandLine, tmp_path: Path) -> None:
    """`--readback voice` where no synthesiser is installed: what to install, and what to use instead."""
    done = check(
        run, None, "--gpsd", f"127.0.0.1:{free_port()}", "--readback", "voice", "--json", *QUICK, PATH=str(tmp_path)
    )  # fmt: skip

    assert "there is no offline voice: espeak-ng is not installed" == done.checks["readback"]["what"]
    assert "--readback tone" in done.checks["readback"]["todo"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--gpsd", "dash:0"), "--gpsd: 'dash:0' is no address of gpsd; write HOST:PORT"),
        (("--sheet", "missing.toml"), "missing.toml: no such sheet"),
        (("--hours", "0"), "'--hours'"),
        (("--seconds", "nan"), "'--seconds'"),
    ],
)
def test_wrong_usage(run: CommandLine, arguments: tuple[str, ...], said: str) -> None:
    """One line and exit code 2, before anything is tried."""
    done = run("check", *arguments)

    assert done.returncode == 2
    assert said in one_line_error(done.stderr)
    assert "" == done.stdout


def test_ctrl_c_ends_it(run: CommandLine) -> None:
    """Stopped while it listens: at once, quietly, with 130."""
    with SoundServer() as server, Feed(server, QUIET):
        process = subprocess.Popen(
            command("check", "--gpsd", f"127.0.0.1:{free_port()}", "--seconds", "30"),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            cwd=run.folder,
            env=run.environment | server.environment,
        )
        assert process.stderr is not None
        while "dBFS" not in process.stderr.readline():
            pass
        process.send_signal(signal.SIGINT)
        stopped_s = time.monotonic()
        _, stderr = process.communicate(timeout=20)

    assert process.returncode == 130
    assert time.monotonic() - stopped_s < 4
    assert "odovox: stopped" == stderr.splitlines()[-1]
    assert "Traceback" not in stderr


def test_the_schema_is_one_and_can_fail() -> None:
    """The schema itself is sound, and refuses what is not as it says."""
    Draft202012Validator.check_schema(SCHEMA)
    sound = {
        "fit": False, "warnings": 0, "failures": 0,
        "checks": {each.value: {"state": "untried", "what": "", "todo": None, "figures": {}} for each in Check},
    }  # fmt: skip
    validator = Draft202012Validator(SCHEMA)

    assert validator.is_valid(sound)
    checks = sound["checks"]
    assert isinstance(checks, dict)
    assert not validator.is_valid(sound | {"checks": {}})
    for wrong in ({"state": "fine"}, {"figures": {"colour": 1}}, {"more": 1}):
        assert not validator.is_valid(sound | {"checks": checks | {"gpsd": checks["gpsd"] | wrong}})


def test_the_page_names_every_figure() -> None:
    """docs/live.md has a line for each member of `figures`, with the schema's own words."""
    page = (REPOSITORY / "docs" / "live.md").read_text(encoding="utf-8")
    for name, each in SCHEMA["properties"]["checks"]["properties"].items():
        for figure, described in each["properties"]["figures"]["properties"].items():
            assert f"| `{name}` | `{figure}` | {described['description']} |" in page
