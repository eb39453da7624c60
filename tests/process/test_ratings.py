"""Voltages and currents of nets, as a profile tells them."""

from __future__ import annotations

from math import sqrt
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.board import Rating
from checker.errors import ProfileError
from checker.process import load_profile
from tests.built import built

steady = settings(
    deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def ratings(folder: Path, group: object) -> dict[str, Rating]:
    path = folder / "mine.yaml"
    document = {"based_on": "cone-30-0.1", "nets": group}
    path.write_text(yaml.safe_dump(document, allow_unicode=True), encoding="utf-8")
    return dict(load_profile(path).ratings)


def fault(folder: Path, group: object) -> str:
    with pytest.raises(ProfileError) as caught:
        ratings(folder, group)
    return str(caught.value).removeprefix(str(folder / "mine.yaml"))


@pytest.mark.parametrize(
    ("text", "volts", "alternating"),
    [
        ("12 V", 12, False),
        ("12", 12, False),
        ("12 V dc", 12, False),
        ("-12 V", -12, False),
        ("500 mV", 0.5, False),
        ("0.4 kV", 400, False),
        # A sine's peak is the square root of two times its root mean square: 230 V is 325 V.
        ("230 V ac", 230 * sqrt(2), True),
        ("230 Vac", 230 * sqrt(2), True),
        ("230 V AC", 230 * sqrt(2), True),
        ("230 V rms", 230 * sqrt(2), True),
        ("325 V pk", 325, True),
        ("325 V peak ac", 325, True),
    ],
)
def test_voltage_is_kept_as_its_peak(
    tmp_path: Path, text: str, volts: float, alternating: bool
) -> None:
    found = ratings(tmp_path, {"N": text})["N"]

    assert found.volts == pytest.approx(volts)
    assert found.alternating is alternating


def test_a_net_may_tell_voltage_current_and_cleared_width(tmp_path: Path) -> None:
    group = {"LIVE": {"voltage": "230 V ac", "current": "500 mA", "cleared": "1/8 in"}}

    found = ratings(tmp_path, group)["LIVE"]

    assert found.volts == pytest.approx(325.269, abs=1e-3)
    assert found.alternating
    assert (found.amperes, found.cleared) == (0.5, 3.175)
    assert found.where == f"{tmp_path / 'mine.yaml'}:3"


def test_what_is_left_out_is_unknown(tmp_path: Path) -> None:
    found = ratings(tmp_path, {"12V": {"current": "2 A"}, "5V": "5 V"})

    assert (found["12V"].volts, found["12V"].amperes) == (None, 2.0)
    assert (found["5V"].amperes, found["5V"].cleared) == (None, None)


def test_a_profile_takes_the_nets_of_what_it_is_based_on(tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text(
        "based_on: cone-30-0.1\nnets: {12V: 12 V, 5V: 5 V}\n", encoding="utf-8"
    )
    path = tmp_path / "mine.yaml"
    path.write_text("based_on: shop.yaml\nnets: {5V: 5.2 V}\n", encoding="utf-8")

    found = load_profile(path).ratings

    assert {net: one.volts for net, one in found.items()} == {"12V": 12.0, "5V": 5.2}


@pytest.mark.parametrize(
    ("group", "told"),
    [
        ("12 V", ":2: nets: '12 V'; expected names of nets with voltages or currents"),
        ({"A": ["1 V"]}, ":3: nets.A: a list; expected a voltage such as 12 V, 230 V ac"),
        ({"A": {}}, ":3: nets.A: says nothing; expected voltage, current, cleared"),
        ({"A": {"volts": 5}}, ":4: nets.A.volts: unknown key; did you mean voltage?"),
        ({"A": {"current": {"most": 5}}}, ":4: nets.A.current: keys and values"),
        ({"A": "12 A"}, ":3: nets.A: 'A' is not a unit known here; expected V, mV, kV"),
        ({"A": "3,3 V"}, ":3: nets.A: '3,3 V' has a decimal comma; write 3.3 V"),
        ({"A": "2300 V ac"}, ":3: nets.A: 2300 V is not plausible; expected 0 to 1000 V"),
        ({"A": "-9 V ac"}, ":3: nets.A: -9 V is not plausible; expected 0 to 1000 V"),
        ({"A": "12 V pk dc"}, ":3: nets.A: '12 V pk dc' is steady and has no pk value"),
        ({"A": ""}, ":3: nets.A: nothing stands here"),
        ({"A": {"current": "200 A"}}, ":4: nets.A.current: 200 A is not plausible"),
        ({f"N{k:03}": "1 V" for k in range(201)}, ":203: nets: 201 nets; expected 200 at most"),
        ({"A": {"cleared": "3"}, "B": {"cleared": "3 m"}}, ":6: nets.B.cleared: 'm' is not a unit"),
    ],
)
def test_a_slip_is_told_with_its_line(tmp_path: Path, group: object, told: str) -> None:
    assert fault(tmp_path, group).startswith(told)


voltages = built(
    "{:.3f} {}".format,
    st.floats(0, 999),
    st.sampled_from(["V", "V ac", "V pk", "mV", "V dc"]),
)
entries = voltages | st.fixed_dictionaries(
    {},
    optional={
        "voltage": voltages,
        "current": st.floats(0, 35).map("{:.4f} A".format),
        "cleared": st.floats(0.05, 20).map("{:.4f} mm".format),
    },
).filter(bool)


@steady
@given(st.dictionaries(st.text("AZ+/_-.0", min_size=1), entries, min_size=1, max_size=4))
def test_resolved_ratings_read_back_to_themselves(tmp_path: Path, group: dict[str, object]) -> None:
    path = tmp_path / "mine.yaml"
    first = ratings(tmp_path, group)
    spelled = dict(load_profile(path).resolved)

    path.write_text(yaml.safe_dump(spelled, allow_unicode=True), encoding="utf-8")
    again = load_profile(path)

    assert again.resolved == spelled
    assert list(again.ratings) == sorted(first)
    for net, one in again.ratings.items():
        assert one.alternating == first[net].alternating
        for column in ("volts", "amperes", "cleared"):
            assert getattr(one, column) == pytest.approx(getattr(first[net], column), abs=1e-6)
