from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from msgspec.structs import replace

from checker.process import load_profile
from checker.process.bit import Spread
from checker.process.vary import at_width
from tests import handmade


@pytest.mark.parametrize("name", ["flat-0.8", "laser", "etch"])
def test_another_width_moves_the_cut_and_keeps_its_spread(name: str) -> None:
    process = load_profile(name)
    assert process.cut is not None

    other = at_width(process, 0.5)

    assert other.cut is not None
    assert other.cut.nominal == pytest.approx(0.5)
    assert other.cut.most - other.cut.nominal == pytest.approx(
        process.cut.most - process.cut.nominal
    )
    assert other.cut.nominal - other.cut.least == pytest.approx(
        process.cut.nominal - process.cut.least
    )


@pytest.mark.parametrize("name", ["flat-0.8", "laser", "etch"])
def test_a_profile_written_out_at_another_width_loads_to_the_same_cut(
    name: str, tmp_path: Path
) -> None:
    process = at_width(load_profile(name), 0.5)
    file = tmp_path / "other.yaml"
    file.write_text(yaml.safe_dump(dict(process.resolved)))

    again = load_profile(file)

    assert again.cut is not None
    assert process.cut is not None
    assert again.cut.nominal == pytest.approx(process.cut.nominal, abs=1e-6)
    assert again.cut.most == pytest.approx(process.cut.most, abs=1e-6)


def test_a_measured_cut_moves_with_the_end_mill() -> None:
    catalogue = handmade.flat(0.4, handmade.exactly(0.1))
    assert catalogue.bit is not None
    measured = replace(catalogue.bit, measured_width=Spread(0.40, 0.43, 0.45))

    process = at_width(handmade.with_bit(measured), 0.53)

    assert process.cut is not None
    assert process.cut.nominal == pytest.approx(0.53)
    assert process.cut.most == pytest.approx(0.55)
    assert process.bit is not None
    assert process.bit.diameter == pytest.approx(0.5)


@pytest.mark.parametrize("name", ["cone-30-0.1", "perfboard"])
def test_only_what_is_no_wider_for_its_depth_is_set_to_a_width(name: str) -> None:
    with pytest.raises(ValueError, match="not set to a width"):
        at_width(load_profile(name), 0.3)
