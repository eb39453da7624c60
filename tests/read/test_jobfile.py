import pytest

from checker.read.jobfile import parse_job

# Keys of real job files: older drafts write Overall, current ones GeneralSpecs.
NEW = """{"Header": {}, "GeneralSpecs": {"Size": {"X": 101.7, "Y": 99.795}, "LayerNumber": 2},
"FilesAttributes": [{"Path": "b-F_Cu.gbr", "FileFunction": "Copper,L1,Top"}]}"""
OLD = '{"Header": {}, "Overall": {"LayerNumber": 4, "Size": {"X": 25, "Y": 32}}}'


def test_current_keys() -> None:
    job = parse_job(NEW, "b.gbrjob")

    assert job.size == (101.7, 99.795)
    assert job.layer_count == 2
    assert job.functions == {"b-f_cu.gbr": "Copper,L1,Top"}


def test_older_keys_and_any_capitals() -> None:
    job = parse_job(OLD.swapcase(), "b.gbrjob")

    assert (job.size, job.layer_count) == ((25.0, 32.0), 4)


@pytest.mark.parametrize(
    "text",
    ["{", "[]", '{"GeneralSpecs": 3}', '{"GeneralSpecs": {"Size": {"X": "wide"}}}', "[" * 9000],
)
def test_anything_else_says_nothing(text: str) -> None:
    job = parse_job(text, "b.gbrjob")

    assert (job.size, job.layer_count, dict(job.functions)) == (None, 0, {})


def test_broken_file_is_noted_with_its_line() -> None:
    (note,) = parse_job('{\n"a": }', "b.gbrjob").notes

    assert note.line == 2
