"""Relief of open boards: nothing lost, the same in another reader, and done once it is done."""

from __future__ import annotations

from functools import lru_cache

import pytest
import shapely
from msgspec.structs import replace

from checker.process import load_profile
from checker.read.package import Package, open_package
from checker.relief.files import contents_of
from checker.relief.make import Made, make
from tests.oracles.other_reader import image
from tests.read.made import BOARDS, needs_boards
from tests.relief.judged import faults

NAMES = ["freevse", "hotpi", "pmw3360-fusion", "pwm555"]
READ_ELSEWHERE = ["freevse", "pmw3360-fusion", "pwm555"]  # coordinates alone are refused of others
PROFILES = ["cone-20-0.1", "flat-0.4"]

pytestmark = [pytest.mark.long, needs_boards]


@lru_cache(maxsize=1)
def relieved(name: str, profile: str) -> tuple[Package, dict[str, bytes], Made]:
    """The board's texts, its files, and what relief makes of them."""
    package = open_package([BOARDS / name])
    contents = contents_of([BOARDS / name], package)
    return package, contents, make(package, contents, {}, load_profile(profile))


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("name", NAMES)
class TestOpenBoard:
    def test_loses_nothing_and_what_is_claimed_is_open(self, name: str, profile: str) -> None:
        _, _, made = relieved(name, profile)

        assert faults(made) == []

    def test_once_relieved_has_nothing_more_to_give(self, name: str, profile: str) -> None:
        package, contents, made = relieved(name, profile)
        once = contents | dict(made.files)
        texts = tuple(
            replace(file, text=made.files[file.name].decode()) if file.name in made.files else file
            for file in package.files
        )

        again = make(replace(package, files=texts), once, {}, load_profile(profile))

        assert again.files == {}


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("name", READ_ELSEWHERE)
def test_another_reader_finds_the_copper_that_is_left(name: str, profile: str) -> None:
    _, _, made = relieved(name, profile)
    areas = {la.source: float(shapely.area(la.islands).sum()) for la in made.board.copper}

    others = {name: image(content.decode()).area for name, content in made.files.items()}

    assert others == {name: pytest.approx(areas[name], rel=1e-4) for name in made.files}
