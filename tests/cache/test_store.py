from __future__ import annotations

import os
import subprocess
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.cache import store as home
from checker.cache.store import Store, usual_folder

KEY = "ab" + 62 * "0"
OTHER = "ab" + 62 * "1"
FAR = "cd" + 62 * "2"
DATA = b'{"answer": "Not makeable"}'


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "cache")


@pytest.fixture
def entry(store: Store) -> Path:
    """The file of an answer that was put into the store."""
    store.put(KEY, DATA)
    return store.folder / KEY[:2] / f"{KEY}.answer"


def files(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


def found_in(store: Store, entry: Path, contents: list[bytes]) -> list[bytes | None]:
    """What the store finds with one content after the other in the file."""
    found = []
    for content in contents:
        entry.write_bytes(content)
        found.append(store.get(KEY))
    return found


def flipped(content: bytes, bit: int) -> bytes:
    there = bytearray(content)
    there[bit // 8] ^= 1 << bit % 8
    return bytes(there)


class Clearing:
    """Another run that clears the folder away again and again, just before a file is opened."""

    def __init__(self, store: Store, times: int) -> None:
        self.store, self.left, self.open = store, times, os.open

    def __call__(self, path: Path, flags: int, mode: int = 0o777) -> int:
        if flags & os.O_CREAT and self.left:
            self.left -= 1
            self.store.clear()
        return self.open(path, flags, mode)


# --- keeping ----------------------------------------------------------------------------------


@pytest.mark.parametrize("times", [1, 2, 19])
def test_what_is_put_is_found_though_others_clear(
    store: Store, times: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "open", Clearing(store, times))

    store.put(KEY, DATA)

    assert store.get(KEY) == DATA


def test_where_others_clear_without_end_it_is_given_up(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "open", Clearing(store, 1000))

    with pytest.raises(FileNotFoundError):
        store.put(KEY, DATA)


@pytest.mark.parametrize("data", [b"", b"\0", DATA, b"x" * 1_000_000, os.urandom(70_000)])
def test_what_is_put_is_found(store: Store, data: bytes) -> None:
    store.put(KEY, data)

    assert store.get(KEY) == data
    assert store.get(OTHER) is None


def test_nothing_is_found_and_nothing_made_in_a_folder_that_is_not_there(store: Store) -> None:
    assert store.get(KEY) is None
    assert store.size() == (0, 0)
    assert store.clear() == (0, 0)
    assert not store.folder.exists()


def test_a_later_answer_takes_the_place_of_an_earlier_one(store: Store) -> None:
    store.put(KEY, b"earlier")
    store.put(KEY, b"later")

    assert store.get(KEY) == b"later"
    assert files(store.folder) == ["ab", f"ab/{KEY}.answer"]


@pytest.mark.skipif(os.name == "nt", reason="no modes of that kind")
def test_folders_and_files_are_the_users_alone(store: Store, entry: Path) -> None:
    modes = [path.stat().st_mode & 0o777 for path in (store.folder, entry.parent, entry)]

    assert modes == [0o700, 0o700, 0o600]


def test_many_like_texts_are_packed(store: Store) -> None:
    store.put(KEY, DATA * 10_000)

    _, size = store.size()
    assert size < len(DATA) * 10_000 / 20


def test_a_hit_makes_an_answer_young(store: Store, entry: Path) -> None:
    os.utime(entry, (1_000_000_000, 1_000_000_000))

    store.get(KEY)

    assert entry.stat().st_mtime > 1_500_000_000


def test_a_hit_that_cannot_be_marked_is_a_hit(
    store: Store, entry: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "utime", _refuse)

    assert store.get(KEY) == DATA


def _refuse(*_: object, **__: object) -> None:
    raise PermissionError(13, "Permission denied")


# --- damage -----------------------------------------------------------------------------------


def test_an_answer_cut_short_anywhere_is_none(store: Store, entry: Path) -> None:
    whole = entry.read_bytes()

    found = found_in(store, entry, [whole[:length] for length in range(len(whole))])

    assert found == [None] * len(whole)
    assert found_in(store, entry, [whole]) == [DATA]


def test_an_answer_with_any_bit_turned_is_none(store: Store, entry: Path) -> None:
    whole = entry.read_bytes()

    found = found_in(store, entry, [flipped(whole, bit) for bit in range(8 * len(whole))])

    assert found == [None] * 8 * len(whole)


@given(st.binary(min_size=1, max_size=200))
def test_any_other_content_is_none(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    store = Store(tmp_path_factory.getbasetemp() / "any")
    store.put(KEY, DATA)
    entry = store.folder / KEY[:2] / f"{KEY}.answer"

    found = found_in(store, entry, [content, entry.read_bytes() + content])

    assert found == [None, None]


def _other_format(entry: Path) -> None:
    entry.write_bytes(entry.read_bytes().replace(b"answer 1 ", b"answer 2 "))


def _other_key(entry: Path) -> None:
    """A sound answer, to another question."""
    store = Store(entry.parents[1])
    store.put(OTHER, b"another answer")
    entry.with_name(f"{OTHER}.answer").replace(entry)


def _folder(entry: Path) -> None:
    entry.unlink()
    entry.mkdir()


def _link(entry: Path) -> None:
    """Even to a sound answer."""
    elsewhere = entry.parents[2] / "elsewhere"
    entry.rename(elsewhere)
    entry.symlink_to(elsewhere)


def _loose_link(entry: Path) -> None:
    entry.unlink()
    entry.symlink_to(entry.parents[2] / "nowhere")


def _pipe(entry: Path) -> None:
    entry.unlink()
    os.mkfifo(entry)


def _huge(entry: Path) -> None:
    with entry.open("ab") as stream:
        stream.truncate(home.MAX_SHARE + 1)


def _bomb(entry: Path) -> None:
    """A sound file that unpacks to more than an answer may hold."""
    entry.unlink()
    body = zlib.compress(bytes(home.MAX_ANSWER + 1), 1)
    entry.write_bytes(home._header(KEY, body) + body)


@pytest.mark.parametrize(
    "damage",
    [
        lambda entry: entry.write_bytes(b""),
        _other_format,
        _other_key,
        _folder,
        _link,
        _loose_link,
        _pipe,
        _huge,
        _bomb,
    ],
)
def test_what_is_no_answer_is_none_and_written_anew(store: Store, entry: Path, damage) -> None:  # type: ignore[no-untyped-def]
    damage(entry)

    before = store.get(KEY)
    store.put(KEY, DATA)

    assert before is None
    assert store.get(KEY) == DATA
    assert entry.is_file()
    assert not entry.is_symlink()


def test_what_a_link_led_to_stays_as_it_was(store: Store, entry: Path) -> None:
    _link(entry)
    elsewhere = entry.parents[2] / "elsewhere"
    before = elsewhere.read_bytes()

    store.put(KEY, b"another")

    assert elsewhere.read_bytes() == before


def test_a_full_folder_in_the_place_of_an_answer_stays(store: Store, entry: Path) -> None:
    _folder(entry)
    (entry / "letter.txt").write_text("mine")

    with pytest.raises(OSError, match=r"Directory not empty|Access is denied"):
        store.put(KEY, DATA)

    assert files(store.folder) == ["ab", f"ab/{KEY}.answer", f"ab/{KEY}.answer/letter.txt"]


# --- faults of writing --------------------------------------------------------------------------


def test_a_file_in_the_place_of_the_folder_is_an_error_and_stays(store: Store) -> None:
    store.folder.write_text("mine")

    with pytest.raises(OSError, match=r"File exists|Not a directory"):
        store.put(KEY, DATA)

    assert store.folder.read_text() == "mine"
    assert store.get(KEY) is None


def test_a_file_in_the_place_of_an_inner_folder_is_an_error_and_stays(store: Store) -> None:
    store.folder.mkdir()
    (store.folder / "ab").write_text("mine")

    with pytest.raises(OSError, match=r"File exists|Not a directory"):
        store.put(KEY, DATA)

    assert (store.folder / "ab").read_text() == "mine"
    assert store.get(KEY) is None


@pytest.mark.parametrize("function", ["write", "replace"])
def test_a_disk_that_fills_up_leaves_the_earlier_answer_and_nothing_half_done(
    store: Store, entry: Path, monkeypatch: pytest.MonkeyPatch, function: str
) -> None:
    class Full:
        """A file on a full disk."""

        def __enter__(self) -> Full:
            return self

        def __exit__(self, *_: object) -> None:
            pass

        def write(self, _: bytes) -> None:
            raise OSError(28, "No space left on device")

    def fdopen(descriptor: int, _: str) -> Full:
        os.close(descriptor)
        return Full()

    def replace(*_: object) -> None:
        raise OSError(28, "No space left on device")

    name, instead = {"write": ("fdopen", fdopen), "replace": ("replace", replace)}[function]
    monkeypatch.setattr(os, name, instead)

    with pytest.raises(OSError, match="No space left on device"):
        store.put(KEY, b"later")

    assert store.get(KEY) == DATA
    assert files(store.folder) == ["ab", f"ab/{KEY}.answer"]


def test_a_run_that_is_stopped_while_writing_leaves_nothing_half_done(
    store: Store, entry: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stopped)

    with pytest.raises(KeyboardInterrupt):
        store.put(KEY, b"later")

    assert files(store.folder) == ["ab", f"ab/{KEY}.answer"]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 KiB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(disk)]
    try:
        subprocess.run(command, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError) as fault:
        pytest.skip(f"no small disk can be mounted here, which takes root: {fault}")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_real_full_disk_keeps_what_was_there_and_nothing_half_done(small_disk: Path) -> None:
    store = Store(small_disk / "cache")
    store.put(KEY, DATA)
    before = files(small_disk)

    with pytest.raises(OSError, match="No space left on device"):
        store.put(OTHER, os.urandom(100_000))

    assert store.get(KEY) == DATA
    assert store.get(OTHER) is None
    assert files(small_disk) == before


def test_a_disk_for_reading_alone_answers_and_refuses(small_disk: Path) -> None:
    store = Store(small_disk / "cache")
    store.put(KEY, DATA)
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)

    with pytest.raises(OSError, match="Read-only file system"):
        store.put(OTHER, DATA)

    assert store.get(KEY) == DATA


# --- size ---------------------------------------------------------------------------------------


def keys(count: int, folder: str = "ab") -> list[str]:
    return [f"{folder}{number:062x}" for number in range(count)]


def filled(store: Store, names: list[str], data: bytes) -> None:
    """Answers put one after the other, each a second older than the next."""
    for age, key in enumerate(names):
        store.put(key, data)
        os.utime(store.folder / key[:2] / f"{key}.answer", (1e9 + age, 1e9 + age))


def test_the_oldest_use_goes_first(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(home, "MAX_SHARE", 3500)
    one, two, three, four = keys(4)
    filled(store, [one, two, three], os.urandom(800))
    store.get(one)

    store.put(four, os.urandom(800))

    kept = [key for key in (one, two, three, four) if store.get(key)]
    assert kept == [one, three, four]


def test_the_newest_stays_whatever_the_clock_says(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(home, "MAX_SHARE", 1500)
    first, second = keys(2)
    store.put(first, os.urandom(800))
    os.utime(store.folder / "ab" / f"{first}.answer", (4e9, 4e9))  # from a clock that is ahead

    store.put(second, DATA * 30)
    store.put(second, os.urandom(800))

    assert store.get(first) is None
    assert store.get(second) is not None


def test_no_folder_grows_beyond_its_share(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(home, "MAX_SHARE", 3500)

    filled(store, keys(20) + keys(20, "cd"), os.urandom(800))

    count, size = store.size()
    assert count == 2 * 3
    assert size <= 2 * 3500


def test_an_answer_beyond_the_share_is_not_kept(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(home, "MAX_SHARE", 3500)

    store.put(KEY, os.urandom(4000))

    assert store.get(KEY) is None
    assert store.size() == (0, 0)


def test_all_shares_together_are_the_bound() -> None:
    assert home.MAX_SHARE * 16**2 == home.MAX_SIZE == 256 * 1024**2


def test_a_file_that_nobody_finishes_goes_after_an_hour(store: Store, entry: Path) -> None:
    dead, live = (entry.with_name(f"{OTHER}.{end}.partial") for end in ("0" * 12, "1" * 12))
    dead.write_bytes(b"half")
    live.write_bytes(b"half")
    os.utime(dead, (1e9, 1e9))

    store.put(KEY, DATA)

    assert not dead.exists()
    assert live.exists()


# --- clearing -----------------------------------------------------------------------------------


def test_clearing_tells_what_went_and_leaves_nothing(store: Store, entry: Path) -> None:
    store.put(FAR, DATA)
    entry.with_name(f"{OTHER}.{'0' * 12}.partial").write_bytes(b"half")
    count, size = store.size()

    freed = store.clear()

    assert count == 2
    assert freed == (2, size)
    assert files(store.folder) == []
    assert store.get(KEY) is None


def test_clearing_somebodys_home_touches_nothing_of_theirs(tmp_path: Path) -> None:
    theirs = [
        "letter.answer",
        "ab/letter.txt",
        "ab/notes.answer",
        f"ab/{KEY}.answer.bak",
        f"ab/{KEY}.partial",
        f"ab/{FAR}.answer",  # not where we would put it
        f"ab/deeper/{KEY}.answer",
        f"AB/{KEY}.answer",
        f"abc/{KEY}.answer",
        f"{KEY}.answer",
    ]
    for name in theirs:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("mine")
    (tmp_path / "ef").mkdir()  # an empty folder of two letters is no loss
    (tmp_path / "ab" / f"{OTHER}.answer").mkdir()
    before = files(tmp_path)
    store = Store(tmp_path)
    store.put(KEY, DATA)

    freed, _ = store.clear()

    assert freed == 1
    assert files(tmp_path) == [name for name in before if name != "ef"]


def test_clearing_follows_no_link(store: Store, entry: Path, tmp_path: Path) -> None:
    outside = Store(tmp_path / "outside")
    outside.put(FAR, DATA)
    (store.folder / "cd").symlink_to(outside.folder / "cd")
    entry.with_name(f"{OTHER}.answer").symlink_to(outside.folder / "cd" / f"{FAR}.answer")

    freed, _ = store.clear()

    assert freed == 1
    assert outside.get(FAR) == DATA
    assert store.size() == (0, 0)


def test_clearing_what_another_run_clears_is_no_error(
    store: Store, entry: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    remove = os.unlink

    def twice(path: str) -> None:
        remove(path)
        remove(path)

    monkeypatch.setattr(os, "unlink", twice)

    assert store.clear() == (0, 0)
    assert not entry.exists()


# --- where --------------------------------------------------------------------------------------


def test_the_variable_names_the_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("CUTWORTHY_CACHE", str(tmp_path / "here"))

    assert usual_folder() == tmp_path / "here"
    assert Store().folder == tmp_path / "here"


@pytest.mark.skipif(os.name == "nt", reason="the folder of XDG")
@pytest.mark.parametrize("named", [None, ""])
def test_without_the_variable_it_is_the_systems_folder_for_such(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, named: str | None
) -> None:
    monkeypatch.setenv("CUTWORTHY_CACHE", named or "")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("HOME", str(tmp_path))

    assert usual_folder().is_relative_to(tmp_path)
    assert usual_folder().name == "cutworthy"


def test_without_a_home_there_is_no_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CUTWORTHY_CACHE", raising=False)
    monkeypatch.setattr("platformdirs.user_cache_path", lambda *_, **__: Path("~/.cache/cutworthy"))

    with pytest.raises(FileNotFoundError, match="no home folder"):
        usual_folder()
