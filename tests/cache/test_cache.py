from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.cache import Cache, Store, usual_cache
from checker.cache import key as keys
from checker.process import load_profile
from checker.read.package import Package, SourceFile, open_package
from checker.report import lines
from tests.cache import given as a
from tests.report.judging import SAMPLES, sample

CONE = load_profile("cone-30-0.1")
COARSE = load_profile("flat-0.8")
LAMP = Package("lamp", (SourceFile("top.gbr", "gerber", "M02*\n"),), ())
HEAVY = (
    "checker.engine", "checker.isolation", "checker.measure", "jinja2", "numpy", "rich", "rtree",
    "rules", "scipy", "shapely",
)  # fmt: skip


@pytest.fixture
def cache(tmp_path: Path) -> Cache:
    return Cache(Store(tmp_path / "cache"))


def test_what_is_kept_is_found_again(cache: Cache) -> None:
    report, origins = a.report(CONE)
    key = cache.key(LAMP, None, {}, CONE)

    cache.keep(key, report, origins)
    found = cache.get(cache.key(LAMP, None, {}, CONE), CONE)

    assert found is not None
    assert a.told(found[0]) == a.told(report)
    assert found[1] == origins
    assert cache.complaint == ""


def test_nothing_is_found_for_another_board(cache: Cache) -> None:
    cache.keep(cache.key(LAMP, None, {}, CONE), *a.report(CONE))

    assert cache.get(cache.key(replace(LAMP, name="lamps"), None, {}, CONE), CONE) is None


def test_an_answer_without_origins_will_not_do_where_they_are_asked_for(cache: Cache) -> None:
    key = cache.key(LAMP, None, {}, CONE)
    report, origins = a.report(CONE)

    cache.keep(key, report, None)
    untraced = cache.get(key, CONE)
    wanted = cache.get(key, CONE, traced=True)
    cache.keep(key, report, origins)

    assert untraced is not None
    assert untraced[1] is None
    assert wanted is None
    assert cache.get(key, CONE, traced=True) is not None


def test_answers_for_several_processes_are_there_all_or_not_at_all(cache: Cache) -> None:
    processes = (CONE, COARSE)
    first, second = cache.keys(LAMP, None, {}, processes)

    cache.keep(first, *a.report(CONE))
    one = cache.get_all((first, second), processes)
    cache.keep(second, *a.report(COARSE))
    both = cache.get_all((first, second), processes)

    assert one is None
    assert both is not None
    assert [report.process for report, _ in both] == [CONE, COARSE]


def test_sound_bytes_that_are_no_answer_are_none_and_written_anew(tmp_path: Path) -> None:
    store = Store(tmp_path)
    cache = Cache(store)
    key = cache.key(LAMP, None, {}, CONE)
    store.put(key, b'{"verdict": "makeable"}')

    before = cache.get(key, CONE)
    cache.keep(key, *a.report(CONE))

    assert before is None
    assert cache.get(key, CONE) is not None


def test_without_a_store_nothing_is_kept_and_nothing_said(tmp_path: Path) -> None:
    cache = Cache(None)

    found = cache.keys(LAMP, None, {}, (CONE, COARSE))
    cache.keep(found[0], *a.report(CONE))

    assert found == ("", "")
    assert cache.get(found[0], CONE) is None
    assert cache.complaint == ""


def test_a_folder_that_cannot_be_written_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    cache = Cache(Store(tmp_path / "file"))
    key = cache.key(LAMP, None, {}, CONE)

    cache.keep(key, *a.report(CONE))
    cache.keep(key, *a.report(CONE))

    assert cache.complaint == (
        f"the cache in {tmp_path / 'file'} cannot be written: File exists; answers are not kept"
    )
    assert cache.get(key, CONE) is None


def test_a_full_disk_is_told_in_one_line(
    cache: Cache, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    key = cache.key(LAMP, None, {}, CONE)
    monkeypatch.setattr(os, "replace", full)

    cache.keep(key, *a.report(CONE))

    assert cache.complaint == (
        f"the cache in {tmp_path / 'cache'} cannot be written: No space left on device; answers "
        "are not kept"
    )


def test_a_tool_that_cannot_read_itself_keeps_nothing(
    cache: Cache, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unreadable() -> bytes:
        raise PermissionError(13, "Permission denied", "checker/board.py")

    monkeypatch.setattr(keys, "judge", unreadable)

    key = cache.key(LAMP, None, {}, CONE)

    assert key == ""
    assert cache.complaint == "checker/board.py: Permission denied; answers are not kept"


def test_a_user_without_a_home_has_no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CUTWORTHY_CACHE", raising=False)
    monkeypatch.setattr("platformdirs.user_cache_path", lambda *_, **__: Path("~/.cache/cutworthy"))

    cache = usual_cache()

    assert cache.key(LAMP, None, {}, CONE) == ""
    assert cache.complaint == "the cache has no folder: no home folder; answers are not kept"


def test_a_hit_needs_none_of_what_measures_and_draws(tmp_path: Path) -> None:
    folder = SAMPLES / "boards/coop-door"
    judged = sample("boards/coop-door")
    origins = {finding.id: judged.origins(finding) for finding in judged.report.findings}
    cache = Cache(Store(tmp_path))
    cache.keep(cache.key(open_package([folder]), None, {}, CONE), judged.report, origins)
    script = f"""
import sys
from pathlib import Path
from checker.cache import usual_cache
from checker.process import load_profile
from checker.read.package import open_package
from checker.report.judged import Judged
from checker.report.lines import concise
board, cache, process = Path(sys.argv[1]), usual_cache(), load_profile("cone-30-0.1")
key = cache.key(open_package([board]), None, {{}}, process)
report, origins = cache.get(key, process, traced=True)
print(concise([Judged(report, None, (board,), origins)]), end="")
print(*sorted(set({HEAVY!r}) & set(sys.modules)), file=sys.stderr)
"""

    done = subprocess.run(
        [sys.executable, "-c", script, folder],
        cwd=SAMPLES.parent,
        env={**os.environ, "CUTWORTHY_CACHE": str(tmp_path), "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )

    assert done.stderr == "\n"
    assert done.stdout.splitlines()[-1] == lines.concise([judged]).splitlines()[-1]
    assert done.stdout.count("\n") == lines.concise([judged]).count("\n")
