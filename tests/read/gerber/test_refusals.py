"""What cannot be read is refused in one clear line, however hostile the file."""

import pytest

from checker.errors import ReadError
from checker.read.gerber import drawing, parse_gerber
from checker.read.gerber.file import LONGEST, MOST_WORDS
from tests.read.gerber.written import HEAD, read, texts

PEN = "%ADD10C,1*%\nD10*"


def refusal(text: str) -> str:
    """The line a user reads."""
    with pytest.raises(ReadError) as caught:
        parse_gerber(text, "layer.gbr")
    return str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\n",
        "hello",
        "a * b * c",
        "<html>*</html>",
        "M48\nINCH,TZ\nT1C0.1\n%\nT1\nX1Y1\nM30\n",
        "P  CODE 00\n317GND *\n999\n",
    ],
)
def test_other_files_are_refused(text: str) -> None:
    assert refusal(text) == "layer.gbr: no Gerber statement in it; expected a Gerber layer file"


def test_binary_files_are_refused() -> None:
    assert refusal(HEAD + "\0") == (
        "layer.gbr: zero bytes in it; expected a Gerber layer file, which is plain text"
    )


@pytest.mark.parametrize(
    ("end", "reason"),
    [
        ("X10", "file ends in mid-statement"),
        ("X1000000Y100D0", "file ends in mid-statement"),
        ("%ADD11C,1*", "file ends inside a % block"),
        ("%AMA*1,1,1,0,0*", "file ends inside a % block"),
        ("%ADD11C,", "file ends in mid-statement"),
        ("G36*\nX0Y0D02*\nX1D01*", "file ends inside a region"),
        ("%ABD20*%\nX0Y0D03*", "file ends inside an aperture block"),
    ],
)
def test_file_cut_off_is_refused(end: str, reason: str) -> None:
    assert refusal(f"{HEAD}{PEN}\nX0Y0D03*\n{end}").endswith(
        f"{reason}; expected M02* at its end; export or copy it again"
    )


@pytest.mark.parametrize("end", ["G36*\nX0Y0D02*\nX5D01*X5Y5D01*X0Y0D01*", "%ABD20*%"])
def test_what_is_open_at_a_stated_end_is_noted(end: str) -> None:
    assert texts(read(PEN, end))[0].startswith("file ends inside a")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            f"%MOMM*%\n{PEN}\nX0Y0D03*\nM02*",
            "layer.gbr:4: coordinate without a number format; expected a format such as "
            "%FSLAX46Y46*%",
        ),
        (
            f"%FSLAX46Y46*%\n{PEN}\nX1Y0D03*\nM02*",
            "layer.gbr:4: no unit before the first size or coordinate; expected %MOMM*% or "
            "%MOIN*%, or G71 or G70",
        ),
        (
            "%FSLAX46Y46*%\n%MOMM*%\n%IPNEG*%\nM02*",
            'layer.gbr:3: image polarity "IPNEG", withdrawn from the format; expected a positive '
            "image; export the layer as positive",
        ),
        (
            "%FSLAX46Y46*%\n%KO*%\nM02*",
            'layer.gbr:2: knockout statement "KO", withdrawn from the format; export the layer '
            "anew",
        ),
    ],
)
def test_wording(text: str, message: str) -> None:
    assert refusal(text) == message


@pytest.mark.parametrize("word", ["IJA0B0", "IOA0B0", "KOC", "IFother.gbr"])
def test_withdrawn_statements_are_refused(word: str) -> None:
    assert "withdrawn from the format" in refusal(f"{HEAD}%{word}*%\nM02*")


@pytest.mark.parametrize(
    "word",
    ["FSLAX4Y4", "FSXY", "MOFT", "OFAx", "OFA1e9", "IR45", "IRx", "ASAXBX", "SFA0B1", "SFA-1",
     "MIAx", "ADD", "ADC,1", "ADD10", "G10", "G12X1Y1D01"],
)  # fmt: skip
def test_statements_that_make_no_sense_are_refused(word: str) -> None:
    assert refusal(f"{HEAD}%{word}*%\nM02*").startswith("layer.gbr:3: ")


def test_arc_under_unequal_factors_is_refused() -> None:
    assert "unequal scale factors" in refusal(f"{HEAD}%SFA2B1*%\n{PEN}\nG75*G03X1Y1I1J0D01*\nM02*")


@pytest.mark.parametrize(
    "coordinate",
    ["X99999999999999", "X" + "9" * 1000, "X-99999999999999", "X1.2.3", "X.", "X99999999999.0"],
)
def test_coordinates_beyond_any_plate_are_refused(coordinate: str) -> None:
    assert refusal(f"{HEAD}{PEN}\n{coordinate}Y0D03*\nM02*").startswith("layer.gbr:5: coordinate")


def test_names_from_the_file_cannot_add_lines_to_a_message() -> None:
    message = refusal(f"{HEAD}%ADD10A\x1b[2Jb\x07,1*%\nD10*X0Y0D03*M02*")

    assert message.isprintable()
    assert len(message) < 200


def test_text_beyond_all_bounds_is_refused() -> None:
    assert refusal("*" * (MOST_WORDS + 1)) == (
        f"layer.gbr: {MOST_WORDS + 1} statements; expected at most {MOST_WORDS}"
    )
    assert refusal(" " * (LONGEST + 1)) == (
        f"layer.gbr: {LONGEST + 1} characters; expected at most {LONGEST}"
    )


@pytest.mark.parametrize(
    "word",
    ["%" * 300_000, " " * 300_000, "X" * 300_000, "G04" * 100_000, "G" + "1" * 300_000,
     "X1" * 150_000, "#@!" * 100_000, "- " * 150_000, "\n" * 300_000],
)  # fmt: skip
def test_long_words_take_no_more_than_their_length(word: str) -> None:
    file = read(word + "*", PEN, "X0Y0D03*")

    assert file.operations <= 2
    assert all(len(text) < 100 for text in texts(file))


def test_arcs_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    circles = "X0Y0I9000000000J0D01*" * 100
    monkeypatch.setattr(drawing, "MOST_POINTS", 100_000)

    assert "expand without bound" in refusal(f"{HEAD}{PEN}\nX0Y0D02*G75*G03*{circles}M02*")


def test_strokes_of_huge_pens_are_bounded() -> None:
    file = read("%ADD10C,9999*%D10*", "X1D01*X0D01*" * 10_000)

    with pytest.raises(ReadError, match="expand without bound"):
        _ = file.objects


def test_scaled_blocks_of_scaled_blocks_are_bounded() -> None:
    blocks = [f"%ABD{n}*%D{n - 1}*X0Y0D03*%AB*%" for n in range(11, 60)]
    file = read("%ADD10C,1*%%LS1000*%", *blocks, "D59*X0Y0D03*")

    with pytest.raises(ReadError, match=r"^layer.gbr: image leaves the plate"):
        _ = file.objects
