"""The tool as it is given away: a wheel and a source archive, installed in an environment that has nothing else."""

import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

from cheque import __version__

ROOT = Path(__file__).resolve().parents[2]
TREE = ("cheque", "forms", "demo", "docs", "layouts", "man", "tests")


def run(*words, **how):
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False, **how)
    assert done.returncode == 0, f"{words}: {done.stdout}{done.stderr}"
    return done


@pytest.fixture(scope="module")
def archives(tmp_path_factory):
    """The wheel and the source archive, built from a copy of what the project keeps; the wheel out of the archive."""
    out = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "build", "--outdir", out, ROOT)
    (wheel,), (archive,) = out.glob("*.whl"), out.glob("*.tar.gz")
    return wheel, archive


@pytest.fixture(scope="module")
def installed(archives, tmp_path_factory):
    """The folder of commands of a clean installation by pipx, in an environment of its own."""
    home = tmp_path_factory.mktemp("pipx")
    keep = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    keep.update(
        {name: value for name, value in os.environ.items() if name.startswith(("PIP_", "SSL_", "http", "HTTP"))}
    )
    environment = {
        **keep, "PIPX_HOME": str(home / "home"), "PIPX_BIN_DIR": str(home / "bin"), "PIPX_MAN_DIR": str(home / "man"),
    }  # fmt: skip
    run(sys.executable, "-m", "pipx", "install", "--python", sys.executable, archives[0], env=environment)
    return home, keep


def test_the_wheel_holds_the_forms_the_demo_and_no_tests(archives):
    names = zipfile.ZipFile(archives[0]).namelist()
    assert "cheque/shipped_forms/payroll-us.toml" in names
    assert "cheque/shipped_demo/payday-2026-11-27.csv" in names
    assert "cheque/picture/proofpage.js" in names
    assert f"cheque-{__version__}.data/data/share/man/man1/cheque-print.1" in names
    assert not [name for name in names if name.startswith("tests/")]


def test_the_source_archive_holds_all_that_the_checks_need(archives):
    with tarfile.open(archives[1]) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert {"pyproject.toml", "LICENSE", "README.md", "DEVELOPERS.md", "CHANGELOG.md", "tests/run.sh"} <= names
    kept = subprocess.run(["git", "ls-files", *TREE], cwd=ROOT, capture_output=True, text=True, check=False)
    missing = [name for name in kept.stdout.splitlines() if name not in names and (ROOT / name).exists()]
    assert missing == []


def test_pipx_installs_it_with_its_manual_pages(installed):
    home, keep = installed
    command = home / "bin" / "cheque"
    assert run(command, "--version", env=keep).stdout.strip() == f"cheque, version {__version__}"
    words = run(command, "words", "1234.56", "--currency", "USD", "--locale", "en_US", env=keep).stdout
    assert "One thousand two hundred thirty-four and 56/100" in words
    assert (home / "man" / "man1" / "cheque.1").exists()


def test_the_installed_tool_does_a_whole_payday_in_an_empty_folder(installed, tmp_path):
    home, keep = installed
    run(home / "bin" / "cheque", "demo", "payday", env=keep, cwd=tmp_path)
    verified = run(home / "bin" / "cheque", "book", "verify", env=keep, cwd=tmp_path / "payday")
    assert "whole" in verified.stdout + verified.stderr
