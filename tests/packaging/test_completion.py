"""Commands and options are completed by real shells."""

import os
import shutil
import subprocess
import sys

import pytest

WRAPPER = '#!/bin/sh\nexec "{python}" -m cheque "$@"\n'


@pytest.fixture
def shell_path(tmp_path):
    """A PATH on which `cheque` is this tool."""
    command = tmp_path / "bin" / "cheque"
    command.parent.mkdir()
    command.write_text(WRAPPER.format(python=sys.executable))
    command.chmod(0o755)
    return {**os.environ, "PATH": f"{command.parent}:{os.environ['PATH']}", "HOME": str(tmp_path)}


def script(shell, environment):
    done = subprocess.run(["cheque", "completion", shell], capture_output=True, text=True, check=True, env=environment)
    return done.stdout


def test_bash_completes_commands_and_options(shell_path, tmp_path):
    (tmp_path / "c.bash").write_text(script("bash", shell_path))
    ask = (
        f"source {tmp_path}/c.bash; "
        "f() { COMPREPLY=(); "
        'COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _cheque_completion cheque; echo "${COMPREPLY[@]}"; }; '
        "f cheque pro; f cheque batch acc; f cheque print --proof"
    )
    done = subprocess.run(["bash", "-c", ask], capture_output=True, text=True, check=True, env=shell_path)
    assert done.stdout.splitlines() == ["proof", "accept", "--proof-code"]


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_the_script_for_another_shell_is_one_that_it_reads(shell, shell_path, tmp_path):
    found = shutil.which(shell)
    if not found:
        pytest.skip(f"no {shell} here: apt-get install {shell}")
    (tmp_path / "c").write_text(script(shell, shell_path))
    subprocess.run([found, "-n", str(tmp_path / "c")], check=True, capture_output=True, env=shell_path)


def test_fish_completes_a_command(shell_path, tmp_path):
    found = shutil.which("fish")
    if not found:
        pytest.skip("no fish here: apt-get install fish")
    (tmp_path / "c.fish").write_text(script("fish", shell_path))
    ask = f"source {tmp_path}/c.fish; complete -C 'cheque recon'"
    done = subprocess.run([found, "-c", ask], capture_output=True, text=True, check=True, env=shell_path)
    assert done.stdout.split("\t")[0].strip() == "reconcile"
