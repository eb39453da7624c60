import pytest

from checker.read.names import by_ending, by_words, shared_prefix


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("F_Cu", "top"),
        ("B.Cu", "bottom"),
        ("In2.Cu", "inner2"),
        ("F.SilkS", "legend-top"),
        ("B_Mask", "mask-bottom"),
        ("CuTop", "top"),
        ("topcu", "top"),
        ("Top Copper", "top"),
        ("copper_bottom", "bottom"),
        ("EtchLayerTop", "top"),
        ("TopLayer", "top"),
        ("InnerLayer1", "inner1"),
        ("BottomSolderMaskLayer", "mask-bottom"),
        ("Bottom Copper (Resist)", "mask-bottom"),
        ("Top Solder Resist", "mask-top"),
        ("StopBot", "mask-bottom"),
        ("componentmask", "mask-top"),
        ("topsilk", "legend-top"),
        ("TopPasteMaskLayer", "ignore"),
        ("Drill Ident Drawing", "ignore"),
        ("drl_map", "ignore"),
        ("Edge.Cuts", "outline"),
        ("BoardOutline", "outline"),
        ("PCB_Edges", "outline"),
        ("Back", "bottom"),
        ("plated-drill", "plated-drill"),
        ("unplated-drill", "unplated-drill"),
        ("Drill Data - [Through Hole] (Unplated)", "unplated-drill"),
        ("ThruHoleNonPlated", "unplated-drill"),
        ("NPTH", "unplated-drill"),
        ("PTH_NPTH", "drill"),
    ],
)
def test_words_name_a_role(text: str, label: str) -> None:
    role = by_words(text)

    assert role is not None
    assert role.label == label


@pytest.mark.parametrize("text", ["soldermask", "Solder Resist", "group3", "top bottom", "rev2"])
def test_half_a_name_and_two_names_name_nothing(text: str) -> None:
    assert by_words(text) is None


@pytest.mark.parametrize(
    ("text", "position"), [("lyr10_GAF", 10), ("Layer 2 Copper", 2), ("L3_GND", 3)]
)
def test_layers_counted_from_the_top(text: str, position: int) -> None:
    role = by_words(text)

    assert role is not None
    assert (role.kind, role.position) == ("copper", position)


@pytest.mark.parametrize(
    ("ending", "label"),
    [
        ("GTL", "top"),
        ("gbl", "bottom"),
        ("sol", "bottom"),
        ("cmp", "top"),
        ("G2", "inner2"),
        ("gts", "mask-top"),
        ("sts", "mask-bottom"),
        ("gbo", "legend-bottom"),
        ("gko", "outline"),
        ("GM1", "outline"),
        ("gml", "outline"),
        ("gm13", "ignore"),
        ("gtp", "ignore"),
    ],
)
def test_endings_name_a_role(ending: str, label: str) -> None:
    role = by_ending(ending)

    assert role is not None
    assert role.label == label


def test_internal_plane_ending_is_negative() -> None:
    role = by_ending("GP1")

    assert role is not None
    assert role.negative


def test_shared_prefix_ends_at_a_sign() -> None:
    assert shared_prefix(["back_plane-F_Cu.gbr", "back_plane-F_Mask.gbr"]) == "back_plane-F_"
    assert shared_prefix(["TopLayer.gtl", "TopMask.gts"]) == ""
    assert shared_prefix(["one.gbr"]) == ""
