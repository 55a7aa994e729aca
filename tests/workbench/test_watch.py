"""Drawing anew when a file is saved."""

from pathlib import Path

import pytest

from cheque.workbench import watch as watching
from cheque.workbench.watch import watch


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """What is done at each look, instead of waiting: a list of callables to be filled by the test."""
    todo: list[object] = []

    def sleep(seconds: float) -> None:
        assert seconds == watching.POLL
        if todo:
            todo.pop(0)()  # type: ignore[operator]

    monkeypatch.setattr(watching.time, "sleep", sleep)
    return todo


def test_it_is_drawn_at_once_and_again_at_each_save(tmp_path: Path, steps: list[object]) -> None:
    form, scan = tmp_path / "small.toml", tmp_path / "scan.png"
    form.write_text("one")
    scan.write_text("scan")
    drawn: list[str] = []
    steps += [
        lambda: form.write_text("number two"),
        lambda: None,
        form.unlink,  # an editor takes the old one away
        lambda: form.write_text("number three"),
        lambda: scan.write_text("another scan"),
    ]
    watch([form, scan], lambda: drawn.append(form.read_text()), looks=8)
    assert drawn == ["one", "number two", "number three", "number three"]


def test_a_file_saved_while_it_is_being_drawn_is_drawn_again(tmp_path: Path, steps: list[object]) -> None:
    form = tmp_path / "small.toml"
    form.write_text("one")
    drawn: list[str] = []

    def draw() -> None:
        drawn.append(form.read_text())
        if len(drawn) == 1:
            form.write_text("number two")

    watch([form], draw, looks=3)
    assert drawn == ["one", "number two"]


def test_what_goes_wrong_while_drawing_comes_out(tmp_path: Path) -> None:
    def draw() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        watch([tmp_path / "nothing"], draw)
