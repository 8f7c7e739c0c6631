"""Folders of results: named by what went in, whole or not at all, never overwritten."""

from __future__ import annotations

import stat
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from outputs_lot import mixed
from report_lot import invented

from lotscreen.records import OutputError, SourceFile
from lotscreen.report.folder import folder_name, publish, refuse_folder_in_use, run_digest
from lotscreen.report.outputs import FILES, write_outputs
from lotscreen.settings import Settings
from lotscreen.whole_file import write_whole


def _writes(text: str) -> Callable[[Path], None]:
    return lambda path: path.write_text(text, encoding="utf-8") and None


TWO = {"a.csv": _writes("one"), "b.csv": _writes("two")}


def _snapshot(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.mark.slow
def test_the_same_screening_gives_the_same_bytes_and_is_left_alone(tmp_path: Path) -> None:
    made = mixed()
    first = write_outputs(made, tmp_path / "one")
    second = write_outputs(made, tmp_path / "two")
    assert sorted(_snapshot(first.folder)) == sorted(FILES)
    assert _snapshot(first.folder) == _snapshot(second.folder)
    times = [path.stat().st_mtime_ns for path in sorted(first.folder.iterdir())]
    again = write_outputs(made, tmp_path / "one")
    assert again.already_there
    assert not first.already_there
    assert [path.stat().st_mtime_ns for path in sorted(again.folder.iterdir())] == times


def test_the_default_folder_is_named_by_sheet_and_digest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    written = write_outputs(invented(30))
    assert written.folder == Path("reports") / f"invented-halves-{written.run}"
    assert (tmp_path / written.folder / "report.pdf").is_file()
    assert f"Written to {written.folder}/" in written.summary()
    assert f"already in {written.folder}/" in write_outputs(invented(30)).summary()


def test_everything_that_decides_the_outputs_is_in_the_digest() -> None:
    made = invented(30)
    (source,) = made.intake.sources
    other_file = replace(made.intake, sources=(replace(source, digest="cd" * 32),))
    other_name = replace(made.intake, sources=(replace(source, name="b.csv"),))
    digests = [
        run_digest(made, {}, "1"),
        run_digest(made, {}, "2"),
        run_digest(made, {"lot": "K-01"}, "1"),
        run_digest(replace(made, seed=2), {}, "1"),
        run_digest(replace(made, settings=Settings(limit=0.01)), {}, "1"),
        run_digest(replace(made, intake=other_file), {}, "1"),
        run_digest(replace(made, intake=other_name), {}, "1"),
        run_digest(
            replace(made, standards=type(made.standards)(made.standards.types[1:])), {}, "1"
        ),
    ]
    assert len(set(digests)) == len(digests)
    assert digests[0] == run_digest(made, {}, "1")


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("jar of halves.xlsx", "jar-of-halves"),
        ("../../x?.csv", "x"),
        (".hidden", "hidden"),
        ("Münzen 2.csv", "Münzen-2"),
        ("???.csv", "sheet"),
    ],
)
def test_folder_names_hold_nothing_a_file_system_refuses(name: str, folder: str) -> None:
    assert folder_name([SourceFile(name, "", (), 0)], "abc") == f"{folder}-abc"


def test_a_file_that_differs_is_never_overwritten(tmp_path: Path) -> None:
    folder = tmp_path / "run"
    publish(folder, TWO)
    (folder / "b.csv").write_text("two, and a note by hand", encoding="utf-8")
    before = _snapshot(folder)
    with pytest.raises(OutputError, match=r"b\.csv differs .* move or remove"):
        publish(folder, TWO)
    assert _snapshot(folder) == before


def test_a_run_that_lacks_files_is_completed(tmp_path: Path) -> None:
    folder = tmp_path / "run"
    publish(folder, TWO)
    (folder / "a.csv").unlink()
    assert publish(folder, TWO) is False
    assert _snapshot(folder) == {"a.csv": b"one", "b.csv": b"two"}
    assert publish(folder, TWO) is True


def test_a_folder_of_other_things_is_refused_and_an_empty_one_is_not(tmp_path: Path) -> None:
    (tmp_path / "used").mkdir()
    (tmp_path / "used" / "letter.txt").write_text("x", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    (tmp_path / "empty" / ".DS_Store").write_text("x", encoding="utf-8")
    with pytest.raises(OutputError, match="not empty"):
        refuse_folder_in_use(tmp_path / "used", FILES)
    with pytest.raises(OutputError, match="not empty"):
        publish(tmp_path / "used", TWO)
    refuse_folder_in_use(tmp_path / "empty", FILES)
    refuse_folder_in_use(tmp_path / "new" / "deep", FILES)
    assert publish(tmp_path / "empty", TWO) is False


def test_a_file_in_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("x", encoding="utf-8")
    with pytest.raises(OutputError, match="is a file"):
        publish(tmp_path / "out", TWO)
    with pytest.raises(OutputError, match="cannot be written"):
        publish(tmp_path / "out" / "below", TWO)


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_nothing_is_left_behind_when_writing_fails(tmp_path: Path, error: BaseException) -> None:
    def fails(path: Path) -> None:
        path.write_text("half", encoding="utf-8")
        raise error

    expected = OutputError if isinstance(error, OSError) else KeyboardInterrupt
    with pytest.raises(expected):
        publish(tmp_path / "deep" / "run", {**TWO, "c.csv": fails})
    assert list(tmp_path.iterdir()) == []


def test_full_device_is_named(tmp_path: Path) -> None:
    def full(path: Path) -> None:
        raise OSError(28, "No space left on device", str(path))

    with pytest.raises(OutputError, match=r"run/a\.csv: .*No space left on device.*choose another"):
        publish(tmp_path / "run", {"a.csv": full})


def test_files_have_the_rights_of_any_new_file(tmp_path: Path) -> None:
    publish(tmp_path / "run", TWO)
    plain = tmp_path / "plain"
    plain.write_text("x", encoding="utf-8")
    assert stat.S_IMODE((tmp_path / "run" / "a.csv").stat().st_mode) == stat.S_IMODE(
        plain.stat().st_mode
    )
    assert sorted(_snapshot(tmp_path / "run")) == ["a.csv", "b.csv"]


def test_a_file_is_there_whole_or_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "plan.json"
    write_whole(path, b"old")

    def full(_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr("os.fsync", full)
        with pytest.raises(OSError, match="No space"):
            write_whole(path, b"new")
    assert [each.name for each in tmp_path.iterdir()] == ["plan.json"]
    assert path.read_bytes() == b"old"
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
