"""What the documents say is so: their commands exist and do what is shown, their links lead somewhere."""

import os
import re
import shlex
import shutil
import subprocess
import sys

import click
import pytest
from book.server import shared
from documents.pages import (
    PAGES,
    ROOT,
    UNRUN,
    Step,
    Written,
    acts,
    agrees,
    commands,
    every_command_not_run,
    links,
    not_run,
    sections,
)
from journeys.firm import DEMO, Firm
from journeys.quarter import lived

from cheque.cli import cli

NAMES = [page.relative_to(ROOT).as_posix() for page in PAGES]
RUN = [(name, place) for name in NAMES for place, _ in enumerate(sections((ROOT / name).read_text("utf-8")))]
#: what stands on the pages for a server of the tests' own
SERVER = "postgresql:///cheques?host=/run/postgresql"
#: by page, the commands in blocks that no test runs
NOT_RUN = {
    "docs/duties.md": [
        "cheque book roles grant preparer pru",
        "cheque book roles grant approver ada",
        "cheque book roles grant printer pip",
        "cheque book roles take printer pip",
    ],
    "docs/how-to/postgresql.md": [
        "pip install 'cheque[postgres]'",
        "createdb --encoding UTF8 --template template0 cheques",
    ],
    "docs/postgresql.md": ["cheque book restore copy.sqlite --next-number main:100531 --digest DIGEST"],
    "docs/practice.md": ["cheque practice --listen 127.0.0.1:9100 --first-number 100501 --paper paper"],
    "docs/reports.md": ['cheque book verify --digest "2806 4076 733d d249 31f5 124c 8cf8 cd03"'],
    "README.md": ["sh demo/run.sh", "sh tests/run.sh"],
    "DEVELOPERS.md": ["sh demo/run.sh", "sh tests/run.sh"],
}
#: what looks like a call, and is the first line of something that is digested
FORMATS = ("cheque page 1", "cheque payment 1", "cheque proof 1")


def read(name):
    return (ROOT / name).read_text("utf-8")


def wrong(line):
    """What in a call of `cheque` does not exist, or ""."""
    line = re.sub(r"\[[A-Z]+\](?:\.\.\.)?", "", line)
    line = re.split(r"\s(?:#|>|\||&&|;)(?:\s|$)", line.replace("…", " "))[0]
    try:
        words = shlex.split(line)[1:]
    except ValueError:  # cut off in the midst of a quotation
        words = shlex.split(line.replace("'", "").replace('"', ""))[1:]
    command, context, known = cli, click.Context(cli), set()
    for parameter in cli.params:
        known |= set(parameter.opts)
    words = [word for word in words if word not in ("COMMAND",)]
    place = 0
    while isinstance(command, click.Group) and place < len(words):
        word = words[place]
        place += 1
        if word.startswith("-") or (place > 1 and words[place - 2] in ("--as", "--settings", "--language")):
            continue
        found = command.get_command(context, word)
        if found is None:
            return f"there is no {word!r} in {command.name}"
        command = found
    for parameter in command.params:
        known |= {*parameter.opts, *parameter.secondary_opts}
    known |= {"--help", "-h"}
    odd = [word for word in words if re.match(r"--?[a-z]", word) and word.partition("=")[0] not in known]
    return f"{command.name} has no {' '.join(odd)}" if odd else ""


@pytest.mark.parametrize("name", NAMES)
def test_every_command_and_option_on_a_page_exists(name):
    calls = [line for line in commands(read(name)) if line not in FORMATS]
    found = [f"{line}: {why}" for line in calls if (why := wrong(line))]
    assert found == []


def test_a_command_that_does_not_exist_is_found():
    assert wrong("cheque prnt 1 --proof-code X") == "there is no 'prnt' in cli"
    assert wrong("cheque print 1 --prooof-code X") == "print has no --prooof-code"
    assert wrong("cheque batch accept FILE --form F … # then look") == ""


@pytest.mark.parametrize("name", NAMES)
def test_every_link_on_a_page_leads_to_something_in_the_project(name):
    page = ROOT / name
    for link in links(read(name)):
        path, _, anchor = link.partition("#")
        assert not link.startswith(("http:", "//")), link
        if link.startswith(("https:", "mailto:")):
            continue
        target = (page.parent / path).resolve() if path else page
        assert target.exists(), link
        assert target.is_relative_to(ROOT), link
        if anchor and target.suffix == ".md":
            assert anchor in anchors(target.read_text("utf-8")), link


def anchors(text):
    """The anchors that headings of a page have, as Markdown programs make them."""
    heads = re.findall(r"^#+ (.+)$", re.sub(r"^```.*?^```", "", text, flags=re.M | re.S), re.M)
    return {re.sub(r"[\s]+", "-", re.sub(r"[^\w\s-]", "", head).strip().lower()) for head in heads}


@pytest.fixture
def shell(tmp_path):
    """Runs a line as a person would type it, in a folder of the page's own."""
    tools = tmp_path / "tools"
    tools.mkdir()
    (tools / "cheque").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m cheque "$@"\n')
    (tools / "cheque").chmod(0o755)
    folder = tmp_path / "page"
    folder.mkdir()
    environment = {**os.environ, "PATH": f"{tools}:{os.environ['PATH']}", "HOME": str(tmp_path), "COLUMNS": "100"}

    def run(typed):
        return subprocess.run(
            ["sh", "-c", typed], cwd=folder, env=environment, stdin=subprocess.DEVNULL, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False,
        )  # fmt: skip

    return folder, run


def begin(how, folder, run):
    """Make a folder as a page says that it begins."""
    if how == "demo":
        assert run("cheque demo .").returncode == 0
        return
    if how != "empty":
        shutil.copytree(DEMO, folder / "demo")
    if how in ("firm", "server", "sent", "printed", "quarter"):
        firm = Firm(folder).set_up()
    if how in ("sent", "printed"):
        firm.accept()
        firm.print()
    if how == "printed":
        firm.run("confirm", "1", "--good-count", "24")
    if how == "quarter":
        lived(firm)
    assert how in ("empty", "desk", "firm", "server", "sent", "printed", "quarter"), how


@pytest.mark.parametrize(("name", "place"), RUN)
def test_the_commands_of_a_page_do_what_it_shows(name, place, shell):
    folder, run = shell
    how, text = sections(read(name))[place]
    begin(how, folder, run)
    url = shared().url() if how == "server" else ""
    every = list(acts(text))
    assert any(isinstance(act, Step) for act in every)
    for act in every:
        if isinstance(act, Written):
            (folder / act.path).parent.mkdir(exist_ok=True)
            with (folder / act.path).open("a" if act.added else "w", encoding="utf-8") as file:
                file.write(act.text.replace(SERVER, url or SERVER))
            continue
        # in what sed puts there, & stands for what it found
        quoted = url.replace("&", r"\&") if act.typed.startswith("sed ") else url
        done = run(act.typed.replace(SERVER, quoted or SERVER))
        said = done.stdout.replace(url, SERVER) if url else done.stdout
        assert done.returncode == act.status, f"$ {act.typed}\n{said}"
        missing = agrees(act.shown, said)
        assert not missing, f"$ {act.typed}\nsaid:\n{said}\nbut the page shows: {missing}"


def test_every_other_command_in_a_block_says_why_it_is_not_run_and_is_on_the_list():
    found = every_command_not_run()
    unexplained = {name: [line for line, reason in listed if not reason] for name, listed in found.items()}
    left = {name: lines for name, lines in unexplained.items() if lines}
    assert left == {}, "make it a console block, or say why not"
    assert {name: [line for line, _ in listed] for name, listed in found.items()} == NOT_RUN


def test_a_command_that_is_not_run_is_found():
    page = "```sh\ncheque tidy\n```\n    cheque demo\n<!-- run: empty -->\n```console\n$ cheque demo x\n```\n"
    page += f"```sh\n{UNRUN}a printer\ncheque align FORM\n```\n"
    assert list(not_run(page)) == [("cheque tidy", ""), ("cheque align FORM", "a printer"), ("cheque demo", "")]


def test_a_line_that_was_not_said_is_found():
    assert agrees(("Batch 1 accepted: …", "24 payments"), "Batch 1 accepted: now\n24  payments\n") == ""
    assert agrees(("24 payments", "Batch 1 accepted"), "Batch 1 accepted\n24 payments\n") == "Batch 1 accepted"
    assert agrees(("nothing of the kind",), "something\n") == "nothing of the kind"


def test_the_site_builds_without_a_warning_and_needs_no_network(tmp_path):
    site = tmp_path / "site"
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", "--site-dir", str(site)],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert (site / "index.html").exists()
    for page in site.rglob("*.html"):
        fetched = re.findall(
            r"<(?:script|img|link|iframe)[^>]*(?:src|href)=\"(https?:)?//[^\"]*", page.read_text("utf-8")
        )
        assert not fetched, page
