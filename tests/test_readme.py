"""What the pages for people say holds: their commands run, what they print is what they show, their links lead somewhere.

README.md holds, each alone in a fenced block of ``bash`` and on one line, two commands between comments of HTML:

    <!-- sample-command -->     makes the environment ``.venv``, installs, draws a sample
    <!-- test-command -->       makes the environment ``.venv``, installs with the extra ``test``, runs pytest

Both are run by ``.ci/run``, in fresh copies of the tree: here they are only read. A fenced block marked ``console`` that
begins with ``$ staveline `` is run here. Each of its lines with ``$ `` is a command for a shell, in a folder that holds
``samples/``; the lines below it are all that it prints, errors included. The blocks of a page are run in their order, in
one folder, so a later one finds what an earlier one wrote.
"""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from urllib.parse import unquote

import pytest

import cli

ROOT = Path(__file__).resolve().parent.parent
PAGES = ["README.md", "DEVELOPERS.md", "samples/README.md"]
FENCE = re.compile(r"^(?P<fence>```+|~~~+)(?P<info>[^\n`]*)\n(?P<body>.*?)^(?P=fence)[ \t]*$", re.M | re.S)
LINK = re.compile(
    r"\]\(\s*<?([^)\s>]+)>?(?:\s+\"[^\"]*\")?\s*\)|^\[[^\]]+\]:\s*(\S+)|\b(?:src|href)=\"([^\"]+)\"", re.M
)


def page(name):
    return (ROOT / name).read_text(encoding="utf-8")


def marked_command(text, mark):
    """Return the one line of the fenced block that stands between two comments."""
    found = re.findall(rf"^<!-- {mark} -->\n+```bash\n([^\n]+)\n```\n+<!-- /{mark} -->$", text, re.M)
    assert len(found) == 1, f"README.md has one line of bash between <!-- {mark} --> and <!-- /{mark} -->"
    return found[0]


def consoles(text):
    """Return the commands of each block that shows the program at work, with what is printed below each."""
    shown = []
    for block in FENCE.finditer(text):
        body = block["body"]
        if block["info"].strip() == "console" and body.startswith("$ staveline "):
            parts = re.split(r"^\$ (.*)\n", body, flags=re.M)[1:]
            shown.append(list(zip(parts[::2], parts[1::2], strict=True)))
    return shown


def links(text):
    """Return where a page's links and pictures lead, leaving out what stands in code."""
    prose = re.sub(r"`[^`\n]*`", "", FENCE.sub("", text))
    return [target for found in LINK.findall(prose) for target in found if target]


def anchors(text):
    """Return the names under which the headings of a page can be reached."""
    headings = re.findall(r"^#+ +(.+?) *#*$", FENCE.sub("", text), re.M)
    return {
        re.sub(r"[^\w\- ]", "", re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", h).lower()).replace(" ", "-") for h in headings
    }


def leads_somewhere(target, folder, text):
    """Return whether a link of a page, which stands in ``folder`` and reads ``text``, leads to something in the tree."""
    path, _, anchor = unquote(target).partition("#")
    if path:
        there = (folder / path).resolve()
        if not (there.exists() and there.is_relative_to(ROOT)):
            return False
        text = there.read_text(encoding="utf-8") if anchor else ""
    return not anchor or anchor in anchors(text)


def lost_links(folder, text):
    """Return the links of a page that lead nowhere; those into the web are left to their readers."""
    inner = [target for target in links(text) if not re.match(r"[a-z][a-z0-9+.-]*:", target)]
    return [target for target in inner if not leads_somewhere(target, folder, text)]


@pytest.fixture
def shell(tmp_path):
    """Return a function that runs a line in a shell that knows this copy of the program, and returns what it prints."""
    shutil.copytree(ROOT / "samples", tmp_path / "here" / "samples")
    binary = tmp_path / "bin" / "staveline"
    binary.parent.mkdir()
    start = "import sys; sys.argv[0] = 'staveline'; from cli.app import main; main()"
    binary.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -c {shlex.quote(start)} "$@"\n')
    binary.chmod(0o755)
    home = str(Path(cli.__file__).resolve().parent.parent)
    environment = os.environ | {"PYTHONPATH": home, "PATH": f"{binary.parent}{os.pathsep}{os.environ['PATH']}"}

    def run(line):
        done = subprocess.run(
            ["bash", "-c", line],
            cwd=tmp_path / "here",
            env=environment | {"COLUMNS": "80"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
            timeout=100,
            check=False,
        )
        return done.stdout

    return run


def test_the_first_command_installs_and_draws_a_sample_that_is_there():
    command = marked_command(page("README.md"), "sample-command")
    assert re.search(r"python3? -m venv \.venv\b", command)
    assert "pip install" in command
    assert "[test]" not in command
    drawn = re.search(r"\bstaveline draw (\S+)", command)
    assert drawn
    assert (ROOT / drawn[1]).is_file()


def test_the_second_command_installs_and_tests():
    command = marked_command(page("README.md"), "test-command")
    assert re.search(r"python3? -m venv \.venv\b", command)
    assert re.search(r"pip install .*\[test\]", command)
    assert re.search(r"\bpytest\b", command)


@pytest.mark.parametrize("name", PAGES)
def test_every_console_block_shows_what_the_program_prints(name, shell):
    blocks = consoles(page(name))
    wrong = []
    for command, shown in (pair for block in blocks for pair in block):
        printed = shell(command)
        if printed != shown:
            wrong.append(f"$ {command}\n--- the page shows\n{shown}--- it prints\n{printed}")
    assert not wrong, "\n\n".join(wrong)


def test_the_first_page_shows_the_program_at_work():
    assert consoles(page("README.md"))


@pytest.mark.parametrize("name", PAGES)
def test_every_link_leads_to_something_in_this_tree(name):
    assert lost_links((ROOT / name).parent, page(name)) == []


@pytest.mark.parametrize("target", ["samples/README.md", "DEVELOPERS.md"])
def test_the_first_page_leads_to_the_others(target):
    assert target in {link.partition("#")[0].removeprefix("./") for link in links(page("README.md"))}


def test_the_samples_page_names_every_sample():
    text = page("samples/README.md")
    for sample in (ROOT / "samples" / "jobs").glob("*.toml"):
        assert f"jobs/{sample.name}" in text


def test_every_job_file_that_a_page_names_is_there():
    for name in PAGES:
        for path in re.findall(r"\bsamples/jobs/[\w.-]+\.toml\b", page(name)):
            assert (ROOT / path).is_file(), f"{name} names {path}"


# --- the reading of pages, on a page made for it -------------------------------------------------------------------

MADE = """\
# A page, *made*

[there](samples/README.md) ![no](no/picture.svg) [up](../outside.md) [web](https://example.org/x)
[part](#a-page-made) [no part](#nowhere) <img src="gone.png"> [far](samples/README.md#no-such-part)

[ref]: also/gone.md "title"

`[code](not/a/link)`

<!-- test-command -->
```bash
python3 -m venv .venv
```
<!-- /test-command -->

```console
$ staveline --version
staveline 0
$ staveline check none.toml; echo "exit $?"
none.toml: found no such file; expected a job file
exit 2
```

```console
$ ls [x](y)
```

```toml
[job](z)
```
"""


def test_pages_are_read_as_meant(shell):
    assert marked_command(MADE, "test-command") == "python3 -m venv .venv"
    with pytest.raises(AssertionError):
        marked_command(MADE, "sample-command")
    with pytest.raises(AssertionError):
        marked_command(MADE.replace("python3 -m venv .venv\n", "one\ntwo\n"), "test-command")
    lost = ["no/picture.svg", "../outside.md", "#nowhere", "gone.png", "samples/README.md#no-such-part", "also/gone.md"]
    assert lost_links(ROOT, MADE) == lost
    (block,) = consoles(MADE)
    assert [command for command, _ in block] == ["staveline --version", 'staveline check none.toml; echo "exit $?"']
    printed = [shell(command) == shown for command, shown in block]
    assert printed == [False, True]
