import pytest

from checker.board import Kind
from checker.read.gerber import GerberFile
from tests.read.gerber.written import read, texts, xy

SQUARE = f"G36*\nX0Y0D02*\n{xy(1, 0)}D01*\n{xy(1, 1)}D01*\nX0Y0D01*\nG37*"
FLASH, DRAW = "X0Y0D03*", f"X0Y0D02*\n{xy(4, 0)}D01*"

both_spellings = pytest.mark.parametrize("spell", ["%{}*%", "G04 #@! {}*", "G04 #@!{}*"])


def rows(file: GerberFile) -> list[tuple[str | None, ...]]:
    """Net, component, pin and function of each object."""
    objects = file.objects
    columns = (objects.net, objects.component, objects.pin, objects.function)
    return [
        tuple(objects.name(column, row) for column in columns) for row in range(len(objects))
    ]  # fmt: skip


@both_spellings
def test_file_attributes_without_their_dot(spell: str) -> None:
    file = read(
        spell.format("TF.FileFunction,Copper,L1,Top"),
        spell.format("TF.SameCoordinates"),
        spell.format("TFMine, a value ,"),
    )

    assert file.attributes == {
        "FileFunction": ("Copper", "L1", "Top"),
        "SameCoordinates": (),
        "Mine": ("a value", ""),
    }
    assert file.comments == ()
    assert file.notes == ()


@both_spellings
def test_nets_components_and_pins(spell: str) -> None:
    file = read(
        "%ADD10C,1*%",
        "D10*",
        spell.format("TO.P,U1,4,GND"),
        spell.format("TO.N,GND,AGND"),
        FLASH,
        spell.format("TD"),
        FLASH,
        spell.format("TO.C,R1"),
        DRAW,
        spell.format("TO.N,VCC"),
        spell.format("TD.C"),
        SQUARE,
    )

    assert rows(file) == [
        ("GND", "U1", "4", None),
        (None, None, None, None),
        (None, "R1", None, None),
        ("VCC", None, None, None),
    ]


@pytest.mark.parametrize("net", ["", "N/C"])
def test_no_net_and_a_net_of_one_pin_are_unknown_nets(net: str) -> None:
    assert rows(read("%ADD10C,1*%", "D10*", f"%TO.N,{net}*%", FLASH)) == [(None,) * 4]


def test_pin_left_in_force_from_another_part_is_no_pin_of_this_part() -> None:
    stale = rows(read("%ADD10C,1*%", "D10*", "%TO.P,U1,4*%", "%TO.C,U2*%", FLASH))
    own = rows(read("%ADD10C,1*%", "D10*", "%TO.P,U1,4*%", "%TO.C,U1*%", FLASH))

    assert stale == [(None, "U2", None, None)]
    assert own == [(None, "U1", "4", None)]


@both_spellings
def test_apertures_keep_the_function_in_force_at_their_definition(spell: str) -> None:
    file = read(
        spell.format("TA.AperFunction,ViaPad"),
        "%ADD10C,1*%",
        spell.format("TA.AperFunction,SMDPad,CuDef"),
        "%ADD11C,1*%",
        spell.format("TD.AperFunction"),
        "%ADD12C,1*%",
        spell.format("TA.AperFunction,Other"),
        "D10*",
        FLASH,
        "D11*",
        FLASH,
        "D12*",
        FLASH,
    )

    assert [row[3] for row in rows(file)] == ["ViaPad", "SMDPad", None]


def test_region_takes_the_function_in_force_where_it_is_drawn() -> None:
    file = read("%TA.AperFunction,Conductor*%", SQUARE, "%TD*%", SQUARE)

    assert [row[3] for row in rows(file)] == ["Conductor", None]


@pytest.mark.parametrize(
    ("function", "drawn", "kind"),
    [
        (None, FLASH, Kind.PAD),
        (None, DRAW, Kind.TRACE),
        (None, SQUARE, Kind.POUR),
        ("ViaPad", FLASH, Kind.PAD),
        ("SMDPad", DRAW, Kind.PAD),
        ("ComponentPad", SQUARE, Kind.PAD),
        ("Conductor", FLASH, Kind.TRACE),
        ("Conductor", DRAW, Kind.TRACE),
        ("Conductor", SQUARE, Kind.POUR),
        ("EtchedComponent", SQUARE, Kind.POUR),
    ],
)
def test_kind_of_an_object(function: str | None, drawn: str, kind: Kind) -> None:
    stated = f"%TA.AperFunction,{function}*%" if function else ""

    assert read(stated, "%ADD10C,1*%", "D10*", drawn).objects.kind.tolist() == [kind]


def test_escapes_in_values() -> None:
    file = read(r"%TF.Part,\u00B5C,a\u002Cb,\u12,\uD800,\U0001F600*%")

    assert file.attributes["Part"] == ("µC", "a,b", r"\u12", r"\uD800", "\U0001f600")


# Two pads of a mounting hole as an exporter of 2018 writes them: part "REF**", no number.
def test_older_escapes_and_a_pad_without_a_number() -> None:
    drawn = read(r"%TO.P,REF\002A\002A,~*%", "%ADD10C,1*%", "D10*", "X0Y0D03*").objects

    assert drawn.name(drawn.component, 0) == "REF**"
    assert drawn.name(drawn.pin, 0) is None


def test_deleting_what_was_never_set_is_harmless() -> None:
    assert texts(read("%TD.N*%", "%TD*%", "G04 #@! TD.Nothing*")) == []


def test_objects_of_a_block_take_what_they_lack_from_its_flash() -> None:
    file = read(
        "%ADD10C,1*%",
        "%ABD20*%",
        "D10*",
        FLASH,
        "%TO.N,INNER*%",
        FLASH,
        "%TD*%",
        "%AB*%",
        "%TO.N,OUTER*%",
        "%TO.C,U1*%",
        "D20*",
        FLASH,
    )

    assert [row[:2] for row in rows(file)] == [("OUTER", "U1"), ("INNER", "U1")]


def test_plain_comments_and_names_of_the_first_part_are_kept() -> None:
    flashes = [FLASH] * 200
    file = read("G04 Layer: TOP *", "%INBOARD*%", "%LNCOPPER*%", "%ADD10C,1*%", "D10*", *flashes, "G04 late*")  # fmt: skip  # noqa: E501

    assert file.comments == ("Layer: TOP", "BOARD", "COPPER")
