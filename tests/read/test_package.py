import zipfile
from pathlib import Path

import pytest

from checker.board import Unchecked
from checker.errors import ReadError
from checker.read import package, read_board
from checker.read.package import board_format, open_package
from tests.read.made import drill, gerber, pack, pads, two_sided, write


def test_folder_is_searched_some_levels_deep(tmp_path: Path) -> None:
    write(tmp_path, {"a/b/c/top.gtl": gerber(pads((1, 1))), "readme.txt": "words"})

    opened = open_package([tmp_path])

    assert [(f.name, f.format) for f in opened.files] == [
        ("a/b/c/top.gtl", "gerber"),
        ("readme.txt", ""),
    ]


def test_loose_files_win_over_an_archive_beside_them(tmp_path: Path) -> None:
    write(tmp_path, two_sided())
    pack(tmp_path / "b.zip", two_sided())

    opened = open_package([tmp_path])

    assert len(opened.files) == 4
    assert "not opened" in opened.notes[0].text


def test_only_archive_of_a_board_in_a_folder_is_opened(tmp_path: Path) -> None:
    pack(tmp_path / "b.zip", two_sided())
    pack(tmp_path / "models.zip", {"readme.txt": "words"})

    opened = open_package([tmp_path])

    assert {f.name for f in opened.files} == set(two_sided())


def test_several_archives_without_loose_files_are_a_question(tmp_path: Path) -> None:
    pack(tmp_path / "a.zip", two_sided())
    pack(tmp_path / "b.zip", two_sided())

    with pytest.raises(ReadError, match=r"several archives of boards: a\.zip, b\.zip"):
        open_package([tmp_path])


@pytest.mark.parametrize("name", ["../evil.gtl", "/evil.gtl", "C:\\evil.gtl", "a/../../evil.gtl"])
def test_names_that_lead_out_of_an_archive_are_left_out(tmp_path: Path, name: str) -> None:
    archive = pack(tmp_path / "b.zip", {name: gerber(pads((1, 1))), **two_sided()})

    opened = open_package([archive])

    assert {f.name for f in opened.files} == set(two_sided())
    assert any("leads out of the archive" in left.why for left in opened.unchecked)


def test_archive_in_an_archive_is_not_opened(tmp_path: Path) -> None:
    inner = pack(tmp_path / "inner.zip", {"b.drl": "M48\n"})
    archive = pack(tmp_path / "b.zip", two_sided())
    with zipfile.ZipFile(archive, "a") as out:
        out.write(inner, "inner.zip")

    opened = open_package([archive])

    assert opened.unchecked == (
        Unchecked("b.zip: inner.zip", "archive inside an archive; not opened"),
    )


def test_what_was_left_out_is_not_checked_on_the_board(tmp_path: Path) -> None:
    archive = pack(tmp_path / "b.zip", {"../b-drill.drl": "M48\n", **two_sided()})

    board = read_board([archive])

    left = Unchecked("b.zip: ../b-drill.drl", "left out: its name leads out of the archive")
    assert left in board.unchecked
    assert not any("leads out" in note.text for note in board.notes)


def test_links_are_not_followed(tmp_path: Path) -> None:
    outside = write(tmp_path / "outside", {"top.gtl": gerber(pads((1, 1)))})
    board = write(tmp_path / "board", two_sided())
    (board / "link.gtl").symlink_to(outside / "top.gtl")
    (board / "folder").symlink_to(outside)

    opened = open_package([board])

    assert {f.name for f in opened.files} == set(two_sided())
    assert len([left for left in opened.unchecked if "link" in left.why]) == 2


def test_link_in_an_archive_is_not_followed(tmp_path: Path) -> None:
    archive = pack(tmp_path / "b.zip", two_sided())
    with zipfile.ZipFile(archive, "a") as out:
        info = zipfile.ZipInfo("link.gtl")
        info.external_attr = 0o120777 << 16  # a symbolic link as Unix archivers store it
        out.writestr(info, "elsewhere")

    opened = open_package([archive])

    assert "link.gtl" not in {f.name for f in opened.files}


def test_archive_that_unpacks_without_end_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(package, "MAX_RATIO", 20)
    monkeypatch.setattr(package, "MAX_FILE", 4 << 20)
    archive = pack(tmp_path / "b.zip", {"top.gtl": gerber(pads((1, 1))) + "G04 " + "x" * (8 << 20)})

    with pytest.raises(ReadError, match="suspiciously tight"):
        open_package([archive])


def test_size_stated_by_an_archive_is_not_believed(tmp_path: Path) -> None:
    text = gerber(pads((1, 1))) + "G04 " + "0123456789" * 300_000
    archive = pack(tmp_path / "b.zip", {"top.gtl": text})
    raw = archive.read_bytes()
    size = len(text).to_bytes(4, "little")
    archive.write_bytes(raw.replace(size, (10).to_bytes(4, "little")))

    with pytest.raises(ReadError):
        open_package([archive])


def test_total_size_and_number_of_files_are_bounded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path, two_sided())
    monkeypatch.setattr(package, "MAX_ENTRIES", 3)
    with pytest.raises(ReadError, match="more than 3 files"):
        open_package([tmp_path])

    monkeypatch.setattr(package, "MAX_ENTRIES", 100)
    monkeypatch.setattr(package, "MAX_TOTAL", 100)
    with pytest.raises(ReadError, match="hold more than 0 MB"):
        open_package([tmp_path])


def test_encrypted_archive_names_the_way_out(tmp_path: Path) -> None:
    archive = pack(tmp_path / "b.zip", {"top.gtl": gerber(pads((1, 1)))})
    raw = bytearray(archive.read_bytes())
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        raw[raw.index(mark) + offset] |= 1  # bit 0 of the general flags: encrypted
    archive.write_bytes(bytes(raw))

    with pytest.raises(ReadError, match=r"encrypted.*unpack"):
        open_package([archive])


def test_archive_of_nothing_but_an_archive_names_the_way_out(tmp_path: Path) -> None:
    inner = pack(tmp_path / "inner.zip", two_sided())
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as archive:
        archive.write(inner, "inner.zip")

    with pytest.raises(
        ReadError, match=r"b\.zip: holds no board files \(b\.zip: inner\.zip: archive "
    ):
        open_package([tmp_path / "b.zip"])


def test_archive_that_is_cut_off_is_no_layer_though_its_files_stand_in_it_as_they_are(
    tmp_path: Path,
) -> None:
    archive = tmp_path / "b.zip"
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_STORED) as out:
        out.writestr("top.gtl", gerber(pads((1, 1))))
    archive.write_bytes(archive.read_bytes()[:-30])  # less the end of its list of files

    with pytest.raises(
        ReadError, match=r"^b\.zip: is no archive, or one that is cut off; expected"
    ):
        open_package([archive])


def test_a_file_that_is_too_large_is_told_what_it_may_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(package, "MAX_FILE", 1 << 20)
    file = tmp_path / "top.gtl"
    file.write_text(gerber(pads((1, 1))) + "G04 " + "x" * (2 << 20))

    with pytest.raises(
        ReadError, match=r"^top\.gtl: is larger than 1 MB; expected .*1 MB at most; "
    ):
        open_package([file])


@pytest.mark.parametrize(("kept", "found"), [(0, "is empty"), (300, "is no archive, or one that")])
def test_archive_that_is_cut_off_is_not_called_a_layer(
    tmp_path: Path, kept: int, found: str
) -> None:
    path = pack(tmp_path / "b.zip", two_sided())
    path.write_bytes(path.read_bytes()[:kept])

    with pytest.raises(ReadError, match=rf"^b\.zip: {found}.*expected a zip archive; make it or"):
        open_package([path])


def test_damaged_archive_is_one_clear_line(tmp_path: Path) -> None:
    archive = pack(tmp_path / "b.zip", two_sided())
    raw = bytearray(archive.read_bytes())
    raw[60:90] = b"\xff" * 30
    archive.write_bytes(bytes(raw))

    with pytest.raises(ReadError, match="damaged"):
        open_package([archive])


@pytest.mark.parametrize(
    ("encoding", "mark"), [("utf-8", b""), ("utf-8", b"\xef\xbb\xbf"), ("latin-1", b"")]
)
def test_encodings_and_line_ends(tmp_path: Path, encoding: str, mark: bytes) -> None:
    text = "G04 Fl\u00e4che*\r\n" + gerber(pads((1, 1)))
    (tmp_path / "top.gtl").write_bytes(mark + text.encode(encoding))

    (file,) = open_package([tmp_path]).files

    assert file.text.startswith("G04 Fl\u00e4che*\n%FS")


def test_utf16_with_a_mark_is_text(tmp_path: Path) -> None:
    (tmp_path / "top.gtl").write_bytes(gerber(pads((1, 1))).encode("utf-16"))

    (file,) = open_package([tmp_path]).files

    assert file.format == "gerber"


def test_nul_bytes_are_left_out_and_told(tmp_path: Path) -> None:
    (tmp_path / "top.gtl").write_bytes(gerber(pads((1, 1))).encode() + b"\0" * 9)

    opened = open_package([tmp_path])

    assert "\0" not in opened.files[0].text
    assert "NUL" in opened.notes[0].text


def test_empty_file_is_known_as_empty(tmp_path: Path) -> None:
    write(tmp_path, {"top.gtl": " \r\n"})

    assert open_package([tmp_path]).files[0].format == "empty"


@pytest.mark.parametrize(
    ("text", "found"), [("", "is empty"), ("Dear reader,\nhello.\n", "is no board file")]
)
def test_named_file_must_be_a_board_file(tmp_path: Path, text: str, found: str) -> None:
    write(tmp_path, {"letter.txt": text})

    with pytest.raises(ReadError, match=found):
        open_package([tmp_path / "letter.txt"])


def test_missing_path_and_no_path() -> None:
    with pytest.raises(ReadError, match="there is no such file"):
        open_package(["nowhere/board"])
    with pytest.raises(ReadError, match="no file is named"):
        open_package([])


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (gerber(pads((1, 1))), "gerber"),
        ("X100Y100D02*\nX200Y100D01*\n", "gerber"),
        (drill("X1.0Y1.0"), "drill"),
        ("%\nT01\nX609600Y226060\nT02\nX497840Y144780\nY68580\nM00\n", "drill"),
        (";Holesize 1. = 8.0 PLATED MILS\n%\nG90\n", "drill"),
        ("P  UNITS CUST 0\n999\n", "netlist"),
        ('{"Header": {}, "GeneralSpecs": {}}', "job"),
        ('{"name": "something else"}', ""),
        ("# Board\n\nDrill the holes with 0.8 mm.\n", ""),
        ("Ref,X,Y\nR1,10.0,20.0\n", ""),
        ("G21\nG0 X1.0 Y1.0 Z5\nG1 Z-1 F100\n", ""),
    ],
)
def test_format_is_told_by_content(text: str, expected: str) -> None:
    assert board_format(text) == expected
