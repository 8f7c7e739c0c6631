"""``lotscreen tray run``: piece by piece, told at once, kept at once, gone on with later."""

from __future__ import annotations

import fcntl
import os
import pty
import signal
import subprocess
import sys
import termios
from pathlib import Path

import pandas as pd
import pytest
from typer.testing import CliRunner, Result

from lotscreen.cli import app
from lotscreen.report.screen_lines import shown_width

DOOR = "import sys; from lotscreen.cli import main; sys.exit(main())"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A learning set of two trays of invented pieces, for two trainees."""
    folder = tmp_path_factory.mktemp("desk")
    words = ["tray", "build", "--desk", "--seed", "2", "--trainees", "T07,T08", "--out",
             str(folder / "set"), "--history", str(folder / "h.csv")]  # fmt: skip
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 0, result.output
    assert "none of them exists" in result.stdout
    return folder / "set"


def _run(folder: Path, answers: Path, typed: str, *words: str, who: str = "T07") -> Result:
    command = ["tray", "run", str(folder), "--trainee", who, "--answers", str(answers), *words]
    return CliRunner().invoke(app, command, input=typed)


def _key(desk: Path, tray: str = "A-1") -> pd.DataFrame:
    key = pd.read_csv(desk / "KEY.csv")
    return key[key["tray"] == tray]


def test_an_invented_set_has_its_register_and_no_custody(desk: Path):
    names = {path.name for path in desk.iterdir()}
    assert "register.csv" in names
    assert "custody.csv" not in names


def test_answers_are_kept_as_they_are_given_and_gone_on_with(desk: Path, tmp_path: Path):
    file = tmp_path / "a.csv"
    first = _run(desk, file, "a\n4\ns\n2\nr\n5\nq\n")
    assert first.exit_code == 0, first.output
    assert "Stopped. 3 answers" in " ".join(first.stdout.split())
    kept = file.read_text()
    assert kept.splitlines()[0] == "trainee,tray,cell,answer,conf,sec"
    rows = pd.read_csv(file)
    assert rows["cell"].tolist() == [1, 2, 3]
    assert rows["answer"].tolist() == ["accept", "set aside", "refuse"]
    assert rows["conf"].tolist() == [4, 2, 5]
    second = _run(desk, file, "a\n3\n" * 22)
    assert "A-1, cell 4\n" in second.stdout
    assert "A-1, cell 3\n" not in second.stdout
    assert file.read_text().startswith(kept)
    assert pd.read_csv(file)["cell"].tolist() == list(range(1, 26))


def test_what_is_told_after_an_answer_is_the_key(desk: Path, tmp_path: Path):
    out = _run(desk, tmp_path / "a.csv", "a\n3\n" * 25, "--tray", "A-1").stdout
    parts = out.split("A-1, cell ")[1:]
    for part, row in zip(parts, _key(desk).itertuples(), strict=True):
        flat = " ".join(part.split())
        if row.tellable == "no":
            assert f"is {row.status} ({row.kind}), and no reading tells it" in flat
        else:
            word = "Right" if row.status == "honest" else "Not so"
            assert f"{word}: the piece is {row.status} ({row.kind})." in flat
            assert f"Told by: {row.told_by}." in flat
            if row.told_by == "thickness":
                assert "The numbers: thicker than lot-mates" in flat
                assert "likeliest first: another metal at the right weight" in flat
    assert "Tray A-1: 0 of 10 pieces that are not honest were not accepted" in " ".join(out.split())


def test_before_the_answer_nothing_of_the_key_is_shown(desk: Path, tmp_path: Path):
    out = _run(desk, tmp_path / "a.csv", "q\n").stdout
    row = next(_key(desk).itertuples())
    assert f"{row.weight_g:.2f} g" in out
    shown = out.split("A-1, cell 1")[1]
    assert row.kind not in shown.replace("how worn", "")
    assert "The piece is" not in shown


def test_a_slip_of_the_key_is_asked_again(desk: Path, tmp_path: Path):
    out = _run(desk, tmp_path / "a.csv", "7\n\na\nsure\n9\n5\n").stdout
    assert out.count("Please answer a, s, r or q.") == 2
    assert out.count("Please answer with a number from 1 to 5.") == 2
    assert pd.read_csv(tmp_path / "a.csv")["conf"].tolist() == [5]


def test_lines_keep_to_eighty_columns(desk: Path, tmp_path: Path):
    out = _run(desk, tmp_path / "a.csv", "r\n3\n" * 25).stdout
    assert max(map(shown_width, out.splitlines())) <= 80
    assert "\x1b" not in out


@pytest.mark.parametrize(
    ("text", "code", "told"),
    [
        ("trainee,tray,cell,answer,conf,sec\nT07,A-1,1,accept,x,2\n", 4, "row 2: 'T07,A-1,1,"),
        ("trainee,tray,cell,answer,conf,sec\nT07,Z-1,1,accept,3,2\n", 4, "not an answer of this"),
        ("something,else\n", 4, "answers start with trainee,tray,cell"),
    ],
)
def test_an_answer_file_that_is_something_else_is_left_alone(desk, tmp_path, text, code, told):
    file = tmp_path / "a.csv"
    file.write_text(text)
    result = _run(desk, file, "a\n3\n")
    assert result.exit_code == code
    assert told in result.stderr
    assert file.read_text() == text


def test_who_is_not_of_the_set_is_sent_to_build_one(desk: Path, tmp_path: Path):
    result = _run(desk, tmp_path / "a.csv", "", who="T09")
    assert result.exit_code == 4
    assert "trainee T09 is not one of this set (T07, T08)" in result.stderr
    assert not (tmp_path / "a.csv").exists()
    missing = _run(tmp_path, tmp_path / "a.csv", "")
    assert missing.exit_code == 4
    assert "give the folder of a set" in missing.stderr


def test_a_certifying_set_tells_nothing_before_it_is_marked(tmp_path: Path):
    words = ["tray", "build", "--desk", "--trays", "1", "--purpose", "certifying", "--out",
             str(tmp_path / "set"), "--history", str(tmp_path / "h.csv")]  # fmt: skip
    assert CliRunner().invoke(app, words).exit_code == 0
    out = _run(tmp_path / "set", tmp_path / "a.csv", "a\n3\n" * 25).stdout
    assert out.count("Noted.") == 25
    for told in ("Right", "Not so", "Told by", "honest were", "The numbers"):
        assert told not in out


def test_ctrl_c_keeps_what_was_answered(desk: Path, tmp_path: Path):
    code, text = _on_terminal(desk, tmp_path / "a.csv", b"r\n2\n", b"cell 2", b"\x03")
    assert code == 130
    assert "Stopped. 1 answers" in text
    assert pd.read_csv(tmp_path / "a.csv")["answer"].tolist() == ["refuse"]


def _on_terminal(desk: Path, file: Path, typed: bytes, seen: bytes, then: bytes) -> tuple[int, str]:
    """Exit code and text of a session on a pseudo-terminal of 80 columns: ``typed`` first,
    ``then`` once ``seen`` stands on the screen."""
    ours, theirs = pty.openpty()
    env = {**os.environ, "NO_COLOR": "1", "COLUMNS": "80", "TERM": "xterm"}
    command = [sys.executable, "-c", DOOR, "tray", "run", str(desk), "--trainee", "T08",
               "--answers", str(file)]  # fmt: skip
    with subprocess.Popen(
        command, stdin=theirs, stdout=theirs, stderr=theirs, env=env, start_new_session=True,
        preexec_fn=_as_a_person_starts_it,
    ) as run:  # fmt: skip
        os.close(theirs)
        os.write(ours, typed)
        said = b""
        while part := _read(ours):
            said += part
            if then and seen in said:
                os.write(ours, then)
                then = b""
        code = run.wait(timeout=30)
    os.close(ours)
    return code, said.decode().replace("\r", "")


def _as_a_person_starts_it() -> None:
    """At a terminal of its own, which Ctrl-C reaches even where the tests run without one."""
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 4096)
    except OSError:  # the other end is closed
        return b""


def test_it_runs_on_a_terminal_without_colour(desk: Path, tmp_path: Path):
    """Through a pseudo-terminal of 80 columns, as a person sees it."""
    code, text = _on_terminal(desk, tmp_path / "a.csv", b"s\n4\n", b"cell 2", b"q\n")
    assert code == 0
    assert "\x1b" not in text
    assert "accept (a), set aside (s), refuse (r), stop (q)?" in text
    assert "Stopped. 1 answers" in text
    row = pd.read_csv(tmp_path / "a.csv").iloc[0]
    assert (row["trainee"], row["answer"], row["conf"]) == ("T08", "set aside", 4)
    assert 0 <= row["sec"] < 60
