"""``sign-off.html``: an issue's sheets, what is asked, and the form to sign, as one file that fetches nothing.

What it holds is readable and printable without its script; the script adds marks, the signature and the file to send
back. Whatever comes from a job is escaped, and set apart where its direction could turn the words around it.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Mapping, Sequence
from html import escape
from importlib import resources
from typing import Any

from layout.plain_words import CAUTIONS, plain

APPROVED, AS_NOTED, RESUBMIT = "approved", "approved as noted", "revise and resubmit"
_SVG, _XML = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/XML/1998/namespace}"
_ISOLATE, _POP = "\u2068", "\u2069"
_UNSAFE = re.compile("[<>&'\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]")
"""What must not stand in a script as it is: markup, line ends that old scripts break at, and signs that turn text round."""
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u202a-\u202e\u2066-\u2069]")
"""What is shown as a sign of its own: no isolation holds against a text that opens or closes isolations itself."""
_DECISIONS = {
    APPROVED: "The tops are made as these sheets show them.",
    AS_NOTED: "The tops are made as these sheets show them, with your marks heeded.",
    RESUBMIT: "Nothing is made. You get a new revision to sign.",
}
_TOOLS = (
    ("move", "Move", "Drag the sheet, or use the arrow keys."),
    ("note", "Note", "Press on what you mean, drag to where the note shall stand, let go."),
    ("line", "Line", "Press where the line starts, drag to its end."),
    ("freehand", "Free-hand", "Draw with the pen, the mouse or a finger."),
    ("text", "Text", "Press where the text shall stand."),
)
_ZOOMS = (("zoom-out", "−", "Zoom out"), ("zoom-in", "+", "Zoom in"), ("whole", "Whole", "Whole sheet"))
_UNDOS = (("undo", "Undo"), ("redo", "Redo"))


def page_html(issue: Mapping[str, Any], sheets: Sequence[tuple[str, str]]) -> str:
    """Return the page to sign an issue on.

    ``issue``: the facts of issue.json. ``sheets``: the name and SVG text of each, in order; their numbers and titles
    are those of ``issue``. The same issue gives the same bytes. Raises xml.etree.ElementTree.ParseError where a sheet
    is not XML, KeyError where ``issue`` does not list it.
    """
    facts = {sheet["name"]: sheet for sheet in issue["sheets"]}
    stops = [f for f in issue["findings"] if f["severity"] == "stop"]
    style, script = _own("sign_off.css"), _own("sign_off.js")
    policy = (
        f"default-src 'none'; style-src {_hash(style)}; script-src {_hash(script)}; base-uri 'none'; form-action 'none'"
    )
    told = {
        "number": issue["number"],
        "revision": issue["revision"],
        "digest": issue["digest"],
        "questions": [q["id"] for q in issue["questions"]],
        "decisions": list(_open(stops)),
    }
    whole = f"{issue['number']}, revision {issue['revision']}"
    drawn = [_sheet(facts[name], len(sheets), text) for name, text in sheets]
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>Sign-off: {_apart_plain(whole)}</title>
<style>{style}</style>
</head>
<body>
<a class="skip" href="#form">Skip the sheets, go to the form</a>
<header>
<h1>{_apart(issue["title"])}</h1>
<p>Drawing {_apart(issue["number"])}, revision <strong>{_text(issue["revision"])}</strong>{_dated(issue)}.
<span class="digest">Digest <code>{_text(issue["digest"][:12])}</code></span></p>
{_notice(stops)}<noscript><p class="notice">Scripts are off here, so this page cannot take marks or save.
You can print it, fill it in by hand and send it back.</p></noscript>
</header>
<main>
<section id="sheets" aria-labelledby="sheets-head">
<h2 id="sheets-head">Sheets</h2>
{_toolbar(issue["sheets"])}
<div id="stage" tabindex="0" role="application" aria-label="Drawing sheet" aria-describedby="keys-short">
{"".join(drawn)}</div>
<p id="keys-short" class="hint">Choose a tool above. The keys for working without a mouse stand below the sheet.</p>
{_KEYS}</section>
<form id="form" novalidate tabindex="-1" aria-label="Sign-off">
<p class="print-only">{_apart(issue["title"])}: drawing {_apart(issue["number"])}, revision {_text(issue["revision"])},
digest {_text(issue["digest"][:12])}.{" <strong>Not for sign-off: it can only go back to be revised.</strong>" if stops else ""}
The sheets before this one may be printed smaller than drawn: measure nothing on them.</p>
<section aria-labelledby="marks-head"><h2 id="marks-head">Marks</h2>
<p id="no-marks" class="hint">No marks yet. Choose a tool above the sheet to make one.</p>
<ol id="marks" tabindex="-1"></ol></section>
{_questions(issue["questions"])}{_findings(issue)}{_decision(stops)}{_signing(issue)}{_saving(issue)}</form>
</main>
{_DIALOG}<div id="said" class="away" role="status" aria-live="polite"></div>
<script type="application/json" id="facts">{_data(told)}</script>
<script>{script}</script>
</body>
</html>
"""


# --- safe text -------------------------------------------------------------------------------------------------------


def _plain(text: Any) -> str:
    return _CONTROL.sub("\ufffd", str(text))


def _text(text: Any) -> str:
    """Return text as HTML, for between tags or within quotes."""
    return escape(_plain(text))


def _apart(text: Any) -> str:
    """Return text from a job as HTML that leaves the direction of what stands around it alone."""
    return f"<bdi>{_text(text)}</bdi>"


def _apart_plain(text: Any) -> str:
    """As `_apart`, where no tags can be: within attributes, titles and options."""
    return escape(f"{_ISOLATE}{_plain(text)}{_POP}")


def _sentences(finding: Mapping[str, Any]) -> str:
    """Return what a finding says and what to do, as two sentences for a reader who has no job file."""
    said = (plain(str(finding[key])) for key in ("message", "remedy"))
    return _apart(" ".join(f"{words[:1].upper()}{words[1:]}." for words in said))


def _data(content: Any) -> str:
    """Return JSON that cannot end the script element it stands in."""
    return _UNSAFE.sub(lambda m: f"\\u{ord(m[0]):04x}", json.dumps(content, ensure_ascii=False, sort_keys=True))


def _own(name: str) -> str:
    return resources.files("layout").joinpath("sign_off", name).read_text(encoding="utf-8").strip()


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


# --- the sheets ------------------------------------------------------------------------------------------------------


def _sheet(fact: Mapping[str, Any], of: int, text: str) -> str:
    """Return a sheet as a figure. Its ids get its number in front, since a page has each only once."""
    root = ET.fromstring(text)
    number = int(fact["number"])
    label = f"Sheet {number} of {of}: {_apart_plain(fact['title'])}"
    inner = "".join(
        _markup(child, f"s{number}-") for child in root if child.tag not in {f"{_SVG}title", f"{_SVG}metadata"}
    )
    box = _text(root.get("viewBox", ""))
    return (
        f'<figure class="sheet" id="sheet-{number}" data-sheet="{number}">\n<figcaption>{label}</figcaption>\n'
        f'<svg viewBox="{box}" role="img" aria-label="{label}"><g class="paper">'
        f'<rect class="ground" width="100%" height="100%"/>{inner}<g class="marks"></g></g></svg></figure>\n'
    )


_SHAPES = frozenset(
    {"g", "path", "circle", "ellipse", "rect", "line", "polyline", "polygon", "text", "tspan", "title", "desc"}
)


def _markup(element: ET.Element, prefix: str) -> str:
    """Return an element of a sheet for use within HTML: shapes and texts with plain attributes, nothing that acts."""
    name = element.tag.removeprefix(_SVG)
    if name not in _SHAPES:
        return ""
    given = []
    for key, value in element.attrib.items():
        plain = key.replace(_XML, "xml:")
        if "{" in plain or plain in {"style", "href"} or plain.startswith("on"):
            continue
        given.append(f' {plain}="{_text(prefix + value if plain == "id" else value)}"')
    inner = "".join(_markup(child, prefix) + _text((child.tail or "").strip()) for child in element)
    return f"<{name}{''.join(given)}>{_text((element.text or '').strip())}{inner}</{name}>"


def _toolbar(sheets: Sequence[Mapping[str, Any]]) -> str:
    options = "".join(
        f'<option value="{s["number"]}">{s["number"]}: {_apart_plain(s["title"])}</option>' for s in sheets
    )
    tools = "".join(
        f'<label title="{hint}"><input type="radio" name="tool" value="{key}"{" checked" if key == "move" else ""}>'
        f"<span>{name}</span></label>"
        for key, name, hint in _TOOLS
    )
    zooms = "".join(
        f'<button type="button" id="{key}" title="{name}" aria-label="{name}">{sign}</button>'
        for key, sign, name in _ZOOMS
    )
    undos = "".join(f'<button type="button" id="{key}" disabled>{name}</button>' for key, name in _UNDOS)
    return f"""<div class="bar"><div class="turn" role="group" aria-label="Sheet">
<button type="button" id="before" aria-label="Sheet before" title="Sheet before">‹</button>
<label class="pick"><span class="away">Sheet</span><select id="pick">{options}</select></label>
<button type="button" id="after" aria-label="Next sheet" title="Next sheet">›</button></div>
<div role="group" aria-label="View">{zooms}</div>
<div role="group" aria-label="Last change">{undos}</div></div>
<div class="bar"><fieldset class="tools"><legend class="away">Tool</legend>{tools}</fieldset></div>
"""


_KEYS = """<details class="keys"><summary>Keys, and the sheet's texts</summary>
<p>With the sheet in focus (Tab takes you there):</p>
<ul>
<li><kbd>M</kbd> move, <kbd>N</kbd> note, <kbd>L</kbd> line, <kbd>F</kbd> free-hand, <kbd>T</kbd> text choose the tool.</li>
<li>Arrow keys move the sheet, or with another tool the cross on it: 5 mm of paper a step, 1 mm with <kbd>Shift</kbd>.</li>
<li><kbd>Enter</kbd> sets a point where the cross is: for a note first what it points at, then where it stands;
for a line its two ends; for free-hand its start and its end.</li>
<li><kbd>+</kbd> and <kbd>−</kbd> zoom, <kbd>0</kbd> shows the whole sheet, <kbd>Page Up</kbd> and <kbd>Page Down</kbd> turn sheets.</li>
<li><kbd>Ctrl</kbd> <kbd>Z</kbd> undoes, <kbd>Ctrl</kbd> <kbd>Y</kbd> does it again, <kbd>Esc</kbd> drops what is begun.</li>
</ul>
<h3>What stands on this sheet</h3>
<p id="sheet-texts"></p>
</details>
"""


# --- the form --------------------------------------------------------------------------------------------------------


def _dated(issue: Mapping[str, Any]) -> str:
    return f", dated {_apart(issue['date'])}" if issue.get("date") else ""


def _open(stops: Sequence[Any]) -> tuple[str, ...]:
    """Return the decisions that a signer can take: with a ``stop`` finding only one."""
    return (RESUBMIT,) if stops else tuple(_DECISIONS)


def _notice(stops: Sequence[Mapping[str, Any]]) -> str:
    if not stops:
        return ""
    said = "".join(f"<li>{_sentences(f)}</li>" for f in stops)
    return f"""<div class="notice stop"><p><strong>This drawing is not for sign-off.</strong>
These findings must be cleared first; until then it can only go back to be revised:</p><ul>{said}</ul></div>
"""


def _questions(questions: Sequence[Mapping[str, Any]]) -> str:
    if not questions:
        return ""
    asked = "".join(
        f"""<div class="field"><label for="answer-{_text(q["id"])}"><span class="tag">{_text(q["id"])}</span>
{_apart(q["question"])} <span class="ask">What shall be done?</span></label>
<textarea id="answer-{_text(q["id"])}" data-question="{_text(q["id"])}" rows="2" dir="auto" maxlength="4000"></textarea></div>
"""
        for q in questions
    )
    return f"""<section aria-labelledby="questions-head"><h2 id="questions-head">Questions to you</h2>
{asked}</section>
"""


def _findings(issue: Mapping[str, Any]) -> str:
    noted = [f for f in issue["findings"] if f["severity"] not in {"stop", "ask"}]
    told = "".join(f"<li>{_sentences(f)}</li>" for f in noted)
    held = f"<li>On HOLD until cleared: {_apart(', '.join(issue['held']))}</li>" if issue["held"] else ""
    cautions = "".join(f"<li>{_text(line)}</li>" for line in CAUTIONS)
    return f"""<section aria-labelledby="before-head"><h2 id="before-head">Before you decide</h2>
<p>Your signature approves the drawing: revision <strong>{_text(issue["revision"])}</strong> of these sheets, and no other.
Field measures, appliances and sinks named on it are yours to confirm. No check on these sheets is an approval by whoever
drew them, and a signature here is none by an engineer, a building authority, or the maker of an appliance.</p>
<ul class="fine">{held}{told}{cautions}</ul></section>
"""


def _decision(stops: Sequence[Any]) -> str:
    choices = "".join(
        f"""<label class="choice"><input type="radio" name="decision" value="{key}" required>
<span><strong>{key.capitalize()}</strong><br>{_DECISIONS[key]}</span></label>
"""
        for key in _open(stops)
    )
    return f'<fieldset id="decision" class="field" tabindex="-1"><legend>Decision</legend>\n{choices}</fieldset>\n'


def _signing(issue: Mapping[str, Any]) -> str:
    return f"""<section class="signing" aria-labelledby="sign-head"><h2 id="sign-head">Signature</h2>
<div class="field"><label for="name">Name</label>
<input id="name" type="text" autocomplete="name" dir="auto" maxlength="200" required></div>
<div class="field"><label for="date">Date</label>
<span class="row"><input id="date" type="date" min="2000-01-01" max="2199-12-31" required>
<button type="button" id="today">Today</button></span></div>
<div class="field wide"><span id="pad-label">Signature, drawn <span class="hint">(if you like: your typed name is enough)</span></span>
<svg id="pad" viewBox="0 0 320 100" role="img" aria-labelledby="pad-label"><path class="base" d="M 12 80 H 308"/><g></g></svg>
<button type="button" id="wipe">Clear the signature</button></div>
<p class="hint">For {_apart(issue["number"])}, revision {_text(issue["revision"])}.</p></section>
"""


def _saving(issue: Mapping[str, Any]) -> str:
    name = _apart(f"{issue['number']}-{issue['revision']}-returned.json")
    return f"""<section class="saving" aria-labelledby="save-head"><h2 id="save-head">Save and send back</h2>
<div id="missing" tabindex="-1" hidden></div>
<p>One file is saved, <code>{name}</code>. Send it back to whoever sent you this page; nothing is sent by itself.</p>
<p class="row"><button type="submit" id="save">Save</button> <button type="button" id="print">Print</button></p>
<p id="kept" class="hint"></p>
<details id="copy" hidden><summary>No file came?</summary>
<label for="copied">Copy this text into an e-mail instead:</label>
<textarea id="copied" readonly rows="4" spellcheck="false"></textarea></details></section>
"""


_DIALOG = """<dialog id="wording" aria-labelledby="wording-head"><form method="dialog">
<h2 id="wording-head">Note</h2>
<label for="words">Text</label>
<textarea id="words" rows="3" dir="auto" maxlength="2000"></textarea>
<p id="words-fault" class="fault" role="alert"></p>
<p class="row"><button type="submit" id="words-keep">Keep</button>
<button type="button" id="words-drop">Cancel</button></p></form></dialog>
"""
