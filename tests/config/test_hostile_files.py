"""Whatever stands where a configuration file should: a configuration or one clear line."""

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.config import NAME, config_of
from checker.errors import CheckerError, ConfigError
from tests.config.made import say

BOMB = "a: &a [1, 1]\nb: &b [*a, *a]\nc: [*b, *b]\n"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (BOMB, ":1: an anchor (&) or alias (*)"),
        ("profiles: *x\n", ":1: an anchor (&) or alias (*)"),
        ("profiles: !!python/object/apply:os.system [x]\n", ":1: a tag ("),
        ("boards: a\nprofiles: b\nboards: c\n", ":3: boards is given a second time"),
        ("- cone-30-0.1\n", ":1: a list; expected keys and values"),
        ("top: true\n---\ntop: true\n", ":2: a second document"),
        ("", ": is empty; expected keys and values, such as profiles: [cone-30-0.1]"),
        ("boards: \0\n", ":1: holds a control character"),
        ('boards: "a\\0b"\n', ":1: boards: 'a\\x00b' holds a control character"),
        ("#" * 70_000, ": is longer than 64 KiB; expected a configuration file"),
        ("[" * 100, ":1: nested more than 8 deep"),
    ],
)
def test_a_hostile_text_is_one_clear_line(repo: Path, text: str, told: str) -> None:
    say(repo, text)

    with pytest.raises(ConfigError) as caught:
        config_of([repo])

    assert str(caught.value).startswith(f"{NAME}{told}")


def test_what_is_not_utf_8_is_said_to_be(repo: Path) -> None:
    (repo / NAME).write_bytes(b"boards: \xff\n")

    with pytest.raises(ConfigError, match="is not text in UTF-8"):
        config_of([repo])


def test_a_folder_in_place_of_the_file_is_an_error(repo: Path) -> None:
    (repo / NAME).mkdir()

    with pytest.raises(ConfigError, match="is a folder; expected a configuration file"):
        config_of([repo])


def test_a_pipe_in_place_of_the_file_is_not_waited_for(repo: Path) -> None:
    os.mkfifo(repo / NAME)

    with pytest.raises(ConfigError, match="is not a regular file"):
        config_of([repo])


@pytest.mark.parametrize("target", [NAME, "nowhere.yaml"])
def test_a_link_that_leads_nowhere_is_an_error(repo: Path, target: str) -> None:
    (repo / NAME).symlink_to(target)

    with pytest.raises(ConfigError, match="it is a link that leads nowhere"):
        config_of([repo])


def test_a_link_to_a_file_is_followed(repo: Path) -> None:
    (repo / "shared.yaml").write_text("profiles: flat-0.4\n")
    (repo / NAME).symlink_to("shared.yaml")

    assert config_of([repo]).profiles == ("flat-0.4",)


KEYS = st.sampled_from(
    ["top", "boards", "profiles", "severity", "layers", "nets", "stock", "waivers", "rule", "at"]
)
WORDS = st.sampled_from(["true", "1 mm", "tight-gap", "'*'", "[]", "{}", "[1, 2]", "~", "''", "x"])
INNER = st.dictionaries(KEYS, WORDS).map(lambda m: ", ".join(f"{k}: {v}" for k, v in m.items()))
VALUES = st.one_of(WORDS, INNER.map("{{{}}}".format), INNER.map("[{{{}}}]".format))


def told(repo: Path) -> str:
    """What is wrong, beginning with the file; nothing where it is a configuration."""
    try:
        config_of([repo])
    except CheckerError as error:
        return str(error)
    return ""


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.one_of(st.binary(), st.text().map(str.encode)))
def test_any_bytes_are_a_configuration_or_a_clear_error(repo: Path, content: bytes) -> None:
    (repo / NAME).write_bytes(content)

    line = told(repo)

    assert line == "" or line.startswith(NAME)
    assert line.isprintable()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.dictionaries(KEYS, VALUES, min_size=1))
def test_any_keys_and_values_are_one_or_the_other(repo: Path, said: dict[str, str]) -> None:
    say(repo, "".join(f"{key}: {value}\n" for key, value in said.items()))

    line = told(repo)

    assert line == "" or line.startswith(f"{NAME}:")
    assert line.isprintable()
