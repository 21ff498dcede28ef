"""The layers hold: imports point down, the core touches nothing outside, and every module has its test file."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[1]
MODULES = sorted(
    path.relative_to(REPOSITORY)
    for folder in ("grammar", "logger")
    for path in (REPOSITORY / folder).rglob("*.py")
)
ADAPTERS = (
    "sound",
    "tracks",
    "receivers",
    "voices",
    "recognisers",
    "store",
    "tables",
    "charts",
    "pages",
    "web",
    "engine",
)
RECORDS = ("model", "errors", "ports")

FORBIDDEN_IN_PURE = {
    "click", "sqlite3", "vosk", "sounddevice", "pocketsphinx", "soundfile", "time", "os", "socket", "pathlib",
    "subprocess", "threading", "random", "shutil", "tempfile", "io", "urllib", "logging", "pandas", "pyarrow", "duckdb",
}  # fmt: skip
LOCAL_TIME = {"localtime": 9, "mktime": 9, "ctime": 9, "asctime": 9, "tzset": 9, "today": 9} | {
    "now": 1, "astimezone": 1, "fromtimestamp": 2,
}  # fmt: skip
"""Functions that look at the machine's time zone when they are given fewer values than this."""
FORBIDDEN_CALLS = {"open", "print", "input", "exec", "eval"}

UNTESTED_BY_NAME = {
    "grammar/errors.py": "one exception class without behaviour",
    "logger/errors.py": "exception classes without behaviour",
    "logger/model.py": "records without behaviour but `Hypothesis.text`, which every recogniser's test uses",
    "logger/ports.py": "a protocol",
    "logger/__main__.py": "two lines, run by every test in tests/acceptance",
    "logger/core/columns.py": "data: held against docs/formats.md by tests/logger/tables/test_documentation.py",
    "logger/core/way.py": "records without behaviour",
    "logger/core/rules/alone.py": "the rules are tested together in tests/logger/core/test_rules.py",
    "logger/core/rules/beside.py": "as above",
    "logger/core/rules/records.py": "as above",
    "logger/sound/ear.py": "seen only through sound files, by tests/logger/sound/test_files.py",
    "logger/sound/headers.py": "seen only through sound files, by tests/logger/sound/test_files.py",
    "logger/cli/check.py": "run with everything real by tests/acceptance/test_check.py",
    "logger/wiring/checking/asked.py": "records and a protocol",
    "logger/wiring/checking/listening.py": "as logger/cli/check.py",
    "logger/wiring/checking/receiving.py": "as logger/cli/check.py",
    "logger/wiring/checking/recognising.py": "as logger/cli/check.py",
    "logger/wiring/checking/whole.py": "as logger/cli/check.py",
    "logger/cli/record.py": "run with everything real by tests/acceptance/test_record.py and its neighbours",
    "logger/cli/recover.py": "run with everything real by tests/acceptance/test_recover.py",
    "logger/wiring/recovering.py": "as above",
    "logger/wiring/recording/asked.py": "records and a protocol",
    "logger/wiring/recording/hearing.py": "as logger/cli/record.py",
    "logger/wiring/recording/session.py": "as logger/cli/record.py",
    "logger/wiring/recording/speaking.py": "as logger/cli/record.py",
    "logger/wiring/recording/turning.py": "as logger/cli/record.py",
    "logger/wiring/recording/whole.py": "as logger/cli/record.py",
    "logger/wiring/reviewing/showing.py": "seen only through the page, by tests/logger/wiring/reviewing/test_page.py",
    "logger/core/reporting/report.py": "records without behaviour",
    "logger/charts/distances.py": "drawn and looked at by tests/logger/charts/test_drawing.py and test_axes.py",
    "logger/charts/speeds.py": "as above",
    "logger/tables/comma_separated.py": "the formats are tested side by side in tests/logger/tables/test_formats.py",
    "logger/tables/for_people.py": "as above",
    "logger/tables/json_lines.py": "as above",
    "logger/tables/parquet.py": "as above",
    "logger/tables/schema.py": "as above, by an outside validator",
}
"""Modules that need no test file of their own, and why."""


def layer(module: Path) -> str:
    """Return the layer that a module belongs to."""
    if module.parts[0] == "grammar":
        return "grammar"
    if len(module.parts) == 2:
        return "records" if module.stem in RECORDS else "top"
    return module.parts[1]


ALLOWED: dict[str, set[str]] = {
    "grammar": {"grammar"},
    "records": {"grammar", "records"},
    "core": {"grammar", "records", "core"},
    **{adapter: {"grammar", "records", "core", adapter} for adapter in ADAPTERS},
    "wiring": {"grammar", "records", "core", *ADAPTERS, "wiring", "top"},
    "cli": {"grammar", "records", "core", *ADAPTERS, "wiring", "cli"},
    "top": {"cli"},
}
"""What each layer may import. "top" is the package itself (its name and place) and `__main__`."""


def imports(module: Path) -> Iterator[str]:
    """Yield every module named by an import anywhere in a file."""
    for node in ast.walk(ast.parse((REPOSITORY / module).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module} has a relative import"
            assert node.module is not None
            yield node.module
            # `from logger.wiring import models` imports a module as well; what `grammar` gives is no module.
            yield from (
                f"{node.module}.{alias.name}"
                for alias in node.names
                if node.module != "grammar"
                and (REPOSITORY / node.module.replace(".", "/") / f"{alias.name}.py").exists()
            )


def own(name: str) -> str | None:
    """Return the layer of one of our modules by its dotted name; None for another's."""
    parts = name.split(".")
    if parts[0] == "grammar":
        return "grammar"
    if parts[0] != "logger":
        return None
    if len(parts) == 1:
        return "top"
    if parts[1] in RECORDS:
        return "records"
    return parts[1] if (REPOSITORY / "logger" / parts[1]).is_dir() else "top"


def test_all_modules_are_seen() -> None:
    """The walk finds what is known to be there, and every folder of the package is a known layer."""
    assert Path("grammar/match.py") in MODULES
    assert Path("logger/cli/group.py") in MODULES
    assert {layer(module) for module in MODULES} == set(ALLOWED)


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_imports_point_down(module: Path) -> None:
    """A module imports only from the layers below its own; an adapter never another adapter's folder."""
    wrong = [
        name
        for name in imports(module)
        if (theirs := own(name)) is not None and theirs not in ALLOWED[layer(module)]
    ]
    assert [] == wrong


@pytest.mark.parametrize("module", [each for each in MODULES if layer(each) != "grammar"], ids=str)
def test_grammar_has_one_door(module: Path) -> None:
    """From outside, the language is imported as `from grammar import ...`, never from one of its modules."""
    assert [] == [name for name in imports(module) if name.startswith("grammar.")]


@pytest.mark.parametrize("module", [each for each in MODULES if layer(each) == "grammar"], ids=str)
def test_grammar_needs_only_the_standard_library(module: Path) -> None:
    """Everything in `grammar` runs on Python alone."""
    wrong = [
        name
        for name in imports(module)
        if name.split(".")[0] not in sys.stdlib_module_names and name.split(".")[0] != "grammar"
    ]
    assert [] == wrong


@pytest.mark.parametrize(
    "module", [each for each in MODULES if layer(each) in {"grammar", "records", "core"}], ids=str
)
def test_the_core_touches_nothing_outside(module: Path) -> None:
    """No files, clock, devices, SQL or printing in `grammar`, the records and `core`."""
    tree = ast.parse((REPOSITORY / module).read_text(encoding="utf-8"))
    called = [
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in FORBIDDEN_CALLS
    ]

    assert [] == called
    assert [] == [name for name in imports(module) if name.split(".")[0] in FORBIDDEN_IN_PURE]


def in_local_time(source: str) -> list[str]:
    """Return what a module calls that hangs on the machine's time zone."""
    return [
        node.func.attr
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and len(node.args) + len(node.keywords) < LOCAL_TIME.get(node.func.attr, 0)
    ]


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_nobody_asks_what_time_zone_this_is(module: Path) -> None:
    """A zone that is crossed while a drive is recorded, or between two runs of it, changes nothing: all times are UTC."""
    assert [] == in_local_time((REPOSITORY / module).read_text(encoding="utf-8"))
    assert ["now", "localtime"] == in_local_time("datetime.now(); datetime.now(UTC); time.localtime(5)")


def test_what_is_forbidden_would_be_seen() -> None:
    """The walk itself notices an import inside a function and under a condition (the tests above cannot pass by blindness)."""
    assert "vosk" in set(imports(Path("logger/recognisers/vosk_engine.py")))
    assert "numpy" in set(imports(Path("logger/model.py")))
    assert "logger.wiring.models" in set(imports(Path("logger/cli/model.py")))
    assert "wiring" == own("logger.wiring.models") == own("logger.wiring")
    assert "store" not in ALLOWED["tracks"]


@pytest.mark.parametrize("module", [each for each in MODULES if each.name != "__init__.py"], ids=str)
def test_every_module_has_its_test_file(module: Path) -> None:
    """Each module has a test file in the same place under tests/, or a reason why not."""
    twin = REPOSITORY / "tests" / module.with_name(f"test_{module.name}")
    reason = UNTESTED_BY_NAME.get(module.as_posix())

    assert twin.exists() != (reason is not None), f"{twin} {'needs no exception' if reason else 'is missing'}"


def test_modules_stay_small() -> None:
    """A module past 400 lines is one to split."""
    long = [
        str(module)
        for module in MODULES
        if len((REPOSITORY / module).read_text(encoding="utf-8").splitlines()) > 400
    ]
    assert [] == long


def test_tests_are_no_packages() -> None:
    """No `__init__.py` directly under tests, tests/grammar and tests/logger, where it would shadow the packages."""
    for folder in ("tests", "tests/grammar", "tests/logger"):
        assert not (REPOSITORY / folder / "__init__.py").exists()
