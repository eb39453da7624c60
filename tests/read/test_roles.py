import pytest

from checker.errors import ReadError
from checker.read.jobfile import JobFile, parse_job
from checker.read.roles import identify, parse_function
from tests.read.made import drill, gerber, pads, source

COPPER = gerber(pads((1, 1)))


def roles_of(
    files: dict[str, str], layers: dict[str, str] | None = None, job: JobFile | None = None
) -> dict[str, str]:
    items, _ = identify(
        [source(name, text) for name, text in files.items()], [job] if job else [], layers or {}
    )
    return {item.file.name: item.label for item in items}


def notes_of(files: dict[str, str], job: JobFile | None = None) -> list[str]:
    items = [source(name, text) for name, text in files.items()]
    return [note.text for note in identify(items, [job] if job else [], {})[1]]


# Values and spelling: Gerber layer format, attribute .FileFunction. L1 is always the top.
@pytest.mark.parametrize(
    ("value", "label"),
    [
        ("Copper,L1,Top", "top"),
        ("Copper,L4,Bot,Signal", "bottom"),
        ("Copper,L3,Inr,Plane", "inner2"),
        ("Plated,1,2,PTH,Drill", "plated-drill"),
        ("NonPlated,1,2,NPTH", "unplated-drill"),
        ("MixedPlating,1,2", "drill"),
        ("Profile,NP", "outline"),
        ("Profile", "outline"),
        ("Soldermask,Top", "mask-top"),
        ("SolderMask,Bot", "mask-bottom"),
        ("Legend,Bot", "legend-bottom"),
        ("Paste,Top", "ignore"),
        ("Drillmap", "ignore"),
        ("AssemblyDrawing,Top", "ignore"),
    ],
)
def test_file_function(value: str, label: str) -> None:
    role = parse_function(value)

    assert role is not None
    assert role.label == label


@pytest.mark.parametrize("spelling", ["%TF.FileFunction,{}*%\n", "G04 #@! TF.FileFunction,{}*\n"])
def test_file_function_wins_over_the_name_and_says_so(spelling: str) -> None:
    files = {"a.gtl": spelling.format("Copper,L2,Bot") + COPPER}

    assert roles_of(files) == {"a.gtl": "bottom"}
    assert "says bottom" in notes_of(files)[0]


def test_job_file_counts_more_than_the_name() -> None:
    text = '{"GeneralSpecs": {}, "FilesAttributes": [{"Path": "out/A.GBR", "FileFunction": '
    job = parse_job(text + '"Copper,L1,Top"}]}', "j.gbrjob")

    assert roles_of({"a.gbr": COPPER}, job=job) == {"a.gbr": "top"}


def test_comment_counts_more_than_the_name_and_says_so() -> None:
    files = {"x.gtl": "G04 Layer: BottomLayer*\n" + COPPER}

    assert roles_of(files) == {"x.gtl": "bottom"}
    assert "its comments says bottom, its name says top" in notes_of(files)[0]


@pytest.mark.parametrize(
    "comment",
    ["%INTop Copper*%", "%LNCuTop*%", "G04 Layer: TopLayer*", "G04 Film Name:    etch_top*"],
)
def test_comments_that_name_the_layer(comment: str) -> None:
    assert roles_of({"a.gbr": comment + "\n" + COPPER}) == {"a.gbr": "top"}


def test_name_that_contradicts_itself_is_not_guessed() -> None:
    files = {"x-top.gbl": COPPER, "x-bottom.gbl": COPPER + "\n"}

    assert roles_of(files) == {"x-top.gbl": "not identified", "x-bottom.gbl": "bottom"}


def test_project_name_says_nothing_of_the_layer() -> None:
    names = ("back_door-F_Cu.gbr", "back_door-B_Cu.gbr", "back_door-Edge_Cuts.gbr")

    found = roles_of({name: COPPER + name for name in names})

    assert list(found.values()) == ["top", "bottom", "outline"]


def test_project_name_is_also_stripped_from_a_bare_side() -> None:
    names = ("backplane.top.gbr", "backplane.bottom.gbr", "backplane.outline.gbr")

    assert list(roles_of({n: COPPER + n for n in names}).values()) == ["top", "bottom", "outline"]


def test_numbered_layers_end_at_the_bottom() -> None:
    files = {f"b_lyr{n}.art": COPPER + str(n) for n in (10, 2, 1)}

    assert roles_of(files) == {"b_lyr10.art": "bottom", "b_lyr2.art": "inner1", "b_lyr1.art": "top"}


def test_physical_order_numbers_inner_layers() -> None:
    inner = "G04 Layer_Physical_Order=3*\n" + COPPER

    assert roles_of({"b.GTL": COPPER, "b.GP1": inner})["b.GP1"] == "inner2"


def test_signal_layers_and_planes_numbered_each_on_their_own() -> None:
    files = {"b.G1": COPPER, "b.GP1": COPPER + "G04 plane*", "b.GTL": COPPER + "G04 top*"}

    assert roles_of(files) == {"b.G1": "inner1", "b.GP1": "inner1", "b.GTL": "top"}


def test_drill_file_is_told_by_content_whatever_its_name() -> None:
    files = {"b.txt": drill("X1.0Y1.0"), "b.top": drill("X2.0Y1.0")}

    assert set(roles_of(files).values()) == {"drill"}


def test_plating_from_the_name() -> None:
    files = {"b-PTH.drl": drill("X1.0Y1.0"), "b-NPTH.drl": drill("X2.0Y1.0")}

    assert list(roles_of(files).values()) == ["plated-drill", "unplated-drill"]


def test_same_file_twice_is_read_once() -> None:
    files = {"a/top.gtl": COPPER, "b/top.gtl": COPPER}

    assert list(roles_of(files).values()) == ["top", "not used"]
    assert "the same as a/top.gtl" in notes_of(files)[0]


def test_two_different_tops_are_a_question() -> None:
    with pytest.raises(ReadError, match=r"a/top\.gtl looks like the top copper too.*--layer"):
        roles_of({"a/top.gtl": COPPER, "b/top.gtl": COPPER + "G04 x*"})


def test_better_evidence_settles_two_tops() -> None:
    files = {"top.gtl": COPPER, "z.gbr": gerber(pads((1, 1)), function="Copper,L1,Top")}

    assert roles_of(files) == {"top.gtl": "not used", "z.gbr": "top"}


def test_user_has_the_last_word() -> None:
    files = {"a.gbr": gerber(pads((1, 1)), function="Copper,L1,Top"), "m/b.gbr": COPPER}

    found = roles_of(files, {"bottom": "a.gbr", "TOP": "B.GBR"})

    assert found == {"a.gbr": "bottom", "m/b.gbr": "top"}


def test_pattern_names_several_files() -> None:
    files = {"a.gbr": COPPER, "b1.drl": drill("X1.0Y1.0"), "b2.drl": drill("X1.0Y2.0")}

    assert list(roles_of(files, {"ignore": "b*.drl"}).values())[1:] == ["not used", "not used"]


@pytest.mark.parametrize(
    ("layers", "message"),
    [
        ({"topp": "a.gbr"}, "--layer topp: is no role; expected top, bottom"),
        ({"inner0": "a.gbr"}, "is no role"),
        ({"top": "c.gbr"}, r"--layer top=c\.gbr: no such file in the board; expected a\.gbr"),
        ({"top": "?.gbr"}, "several files"),
    ],
)
def test_override_that_names_nothing(layers: dict[str, str], message: str) -> None:
    with pytest.raises(ReadError, match=message):
        roles_of({"a.gbr": COPPER, "b.gbr": COPPER + "G04 x*"}, layers)


def test_empty_copper_file_is_told() -> None:
    items = [source("b.gbl", COPPER), source("b.gtl", "")]
    items[1] = type(items[1])("b.gtl", "empty", "")

    _, notes = identify(items, [], {})

    assert "is empty: no top is taken" in notes[0].text
