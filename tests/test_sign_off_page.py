"""The page to sign an issue on: what it holds as a file, and what it does in a browser.

The browser is Debian's Chromium, driven by selenium; axe-core (in the package axe-core-python) tells what stands in the
way of people who cannot see, point or distinguish colours, by the rules of WCAG 2.1 that a program can check.
"""

import base64
import hashlib
import importlib.util
import json
import re
import shutil
import time
import xml.etree.ElementTree as ET
from functools import cache
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from lean import be_lean, drawn_once, laid_once
from pypdf import PdfReader
from test_cli import GOOD, STOPPED, WIDE, run

from layout.issue import for_sign_off, issue_facts, sheet_files
from layout.plain_words import CAUTIONS, plain
from layout.sign_off.page import page_html

BIDI = "\u202e\u2066\u200f"
HOSTILE = f"</script></title><img src=x onerror=hit()>\"'&amp;<!--{BIDI}"
SHOWN = re.sub("[\u202e\u2066]", "\ufffd", HOSTILE)
"""As it is shown: what would turn the words after it round has a sign of its own in its place."""


@cache
def issue(text=GOOD):
    """Return the facts and the sheets of an issue."""
    layout = laid_once(text.replace("{number}", "J-1"))
    drawing = for_sign_off(layout, drawn_once(layout))
    sheets = sheet_files(drawing)
    return issue_facts(layout, drawing, sheets), tuple((name, data.decode()) for name, data in sheets.items())


@cache
def page(text=GOOD):
    return page_html(*issue(text))


@cache
def hostile():
    """Return a page in which everything that comes from a job tries to get out of its place."""
    facts, sheets = issue(WIDE)
    facts = json.loads(json.dumps(facts))
    facts["title"] = facts["number"] = facts["date"] = HOSTILE
    for sheet in facts["sheets"]:
        sheet["title"] = HOSTILE
    for kind in ("findings", "questions"):
        for row in facts[kind]:
            row.update(subject=HOSTILE, message=HOSTILE, remedy=HOSTILE, question=HOSTILE)
    for row in facts["findings"]:
        row["severity"] = "note"
    facts["held"] = [HOSTILE]
    name, svg = sheets[0]
    acts = (
        '<script>hit()</script><g onload="hit()" style="background:url(http://there.example/)"><text>'
        "&lt;/script&gt;&lt;img src=x onerror=hit()&gt;</text>"
        '<image href="http://there.example/a.png"/><a href="javascript:hit()"><text>gone</text></a>'
        '<foreignObject><iframe xmlns="http://www.w3.org/1999/xhtml" src="http://there.example/"/></foreignObject></g></svg>'
    )
    return page_html(facts, [(name, svg.replace("</svg>", acts)), *sheets[1:]])


class Reader(HTMLParser):
    """What a page holds, as a reader of HTML that is not ours finds it."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.texts, self.within = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.within.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        while self.within and self.within.pop() != tag:
            pass

    def handle_data(self, data):
        self.texts.append((self.within[-1] if self.within else "", data))

    def of(self, *names):
        return [given for tag, given in self.tags if tag in names]

    def inside(self, *names):
        return [text for tag, text in self.texts if tag in names]


# --- the file --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", [GOOD, STOPPED, WIDE])
def test_every_sheet_is_in_the_page_with_all_its_lines_and_texts(text):
    facts, sheets = issue(text)
    read = Reader(page(text))
    lines = [(t, g.get("d") or (g.get("cx"), g.get("cy"), g.get("r"))) for t, g in read.tags if t in {"path", "circle"}]
    drawn, written = [], []
    for _, svg in sheets:
        for element in ET.fromstring(svg).iter():
            name = element.tag.rpartition("}")[2]
            given = element.attrib
            if name in {"path", "circle"}:
                drawn.append((name, given.get("d") or (given.get("cx"), given.get("cy"), given.get("r"))))
            elif name == "text":
                written.append(element.text)
    assert len(drawn) > 100
    assert lines[: len(drawn)] == drawn
    assert lines[len(drawn) :] == [("path", "M 12 80 H 308")], "and the line to sign on"
    assert [t for t in read.inside("text") if t.strip()] == written
    assert len(read.of("figure")) == len(facts["sheets"]) == len(sheets)


def test_the_same_issue_gives_the_same_page_whatever_was_asked_before():
    facts, sheets = issue()
    again = page_html(json.loads(json.dumps(facts)), list(sheets))
    assert again == page()
    assert page(WIDE) != page()


@pytest.mark.parametrize("text", [page(), hostile()], ids=["plain", "hostile"])
def test_a_page_fetches_nothing_and_runs_nothing_but_its_own_script(text):
    read = Reader(text)
    assert not read.of("link", "img", "image", "iframe", "object", "embed", "base", "audio", "video", "use", "a")[1:]
    assert read.of("a") == [{"class": "skip", "href": "#form"}]
    for tag, given in read.tags:
        assert not {"src", "href", "style", "xlink:href", "action", "srcset"} & given.keys() or tag == "a", (tag, given)
        assert not [key for key in given if key.startswith("on")], (tag, given)
    (style,) = read.inside("style")
    data, script = read.inside("script")
    assert not re.search(r"url\(|@import|https?:", style)
    assert not re.search(r"fetch\(|XMLHttp|WebSocket|import\(|eval\(|innerHTML|document\.write|sendBeacon", script)
    assert re.findall(r"https?://[^\"]*", script) == ["http://www.w3.org/2000/svg"], "the name of SVG"
    hashes = [base64.b64encode(hashlib.sha256(t.encode()).digest()).decode() for t in (style, script)]
    (policy,) = [m["content"] for m in read.of("meta") if "http-equiv" in m]
    assert policy == (
        f"default-src 'none'; style-src 'sha256-{hashes[0]}'; script-src 'sha256-{hashes[1]}'; "
        "base-uri 'none'; form-action 'none'"
    )
    assert json.loads(data)["revision"] == "A"
    assert [g for g in read.of("script") if g] == [{"type": "application/json", "id": "facts"}]


def test_markup_and_signs_that_turn_text_round_stay_what_they_are():
    read = Reader(hostile())
    assert SHOWN in read.inside("bdi")
    assert not set(hostile()) & set("\u202e\u2066"), "neither in texts nor in attributes"
    assert hostile().count("\u2068") == hostile().count("\u2069") > 3
    data, _ = read.inside("script")
    assert json.loads(data)["number"] == HOSTILE
    assert not set(data) & set(f"<>&'{BIDI}")
    (title,) = [t for t in read.inside("title") if t.startswith("Sign-off")]
    assert title == f"Sign-off: \u2068{SHOWN}, revision A\u2069"
    assert "</script><img src=x onerror=hit()>" in read.inside("text")
    assert "gone" not in hostile(), "a link of a sheet is left out with what it holds"


@pytest.mark.parametrize("text", [page(), page(STOPPED), page(WIDE), hostile()])
def test_an_id_stands_once_and_labels_name_one(text):
    read = Reader(text)
    ids = [given["id"] for _, given in read.tags if "id" in given]
    assert len(ids) == len(set(ids))
    assert "s1-approval-name" in ids
    for _, given in read.tags:
        for key in ("for", "aria-labelledby", "aria-describedby"):
            assert given.get(key) is None or given[key] in ids


def test_what_is_open_is_asked_and_what_a_signature_means_is_said():
    facts, _ = issue(WIDE)
    assert [q["id"] for q in facts["questions"]] == ["Q1"]
    words = " ".join(" ".join(t for _, t in Reader(page(WIDE)).texts).split())
    assert facts["questions"][0]["question"] in words
    assert "Your signature approves the drawing" in words
    assert "No check on these sheets is an approval" in words
    for line in CAUTIONS:
        assert line in words
    assert "Questions to you" not in page()


def decisions(text):
    return [given["value"] for given in Reader(text).of("input") if given.get("name") == "decision"]


def test_an_issue_with_a_stop_finding_can_only_go_back():
    assert decisions(page()) == ["approved", "approved as noted", "revise and resubmit"]
    assert decisions(page(STOPPED)) == ["revise and resubmit"]
    assert "This drawing is not for sign-off." in page(STOPPED)
    assert "not for sign-off" not in page().lower()
    facts, _ = issue(STOPPED)
    (stop,) = [f for f in facts["findings"] if f["severity"] == "stop"]
    said = [plain(stop[key]) for key in ("message", "remedy")]
    assert " ".join(f"{words[0].upper()}{words[1:]}." for words in said) in Reader(page(STOPPED)).inside("bdi")


def test_issue_writes_the_page_and_lists_it_with_its_sum(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    be_lean(monkeypatch)
    Path("job.toml").write_text(GOOD.replace("{number}", "J-1"), encoding="utf-8")
    assert run("issue", "job.toml").exit_code == 0
    folder = Path("out/J-1/issue-A")
    listed = {f["name"]: f["sha256"] for f in json.loads((folder / "issue.json").read_bytes())["files"]}
    assert listed["sign-off.html"] == hashlib.sha256((folder / "sign-off.html").read_bytes()).hexdigest()
    # its facts are read before job.toml is listed; nothing of the list stands in the page
    assert (folder / "sign-off.html").read_text(encoding="utf-8") == page()


# --- in a browser ----------------------------------------------------------------------------------------------------

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
SELENIUM = importlib.util.find_spec("selenium")
AXE = importlib.util.find_spec("axe_core_python")
needs_browser = pytest.mark.skipif(
    not (CHROMIUM and DRIVER and SELENIUM),
    reason="no chromium, chromedriver or selenium here (Debian's chromium and chromium-driver, the extra `test`)",
)


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    from signing import Browser  # noqa: PLC0415

    found = Browser(tmp_path_factory.mktemp("browser"), CHROMIUM, DRIVER)
    yield found
    found.driver.quit()


def close(got, wanted, by):
    assert len(got) == len(wanted)
    for (a, b), (c, d) in zip(got, wanted, strict=True):
        assert abs(a - c) <= by and abs(b - d) <= by, (got, wanted)


@needs_browser
def test_marked_signed_saved_and_read_back(browser):
    """With the mouse: each kind of mark, the question, the decision, the signature; the file says just that."""
    facts, _ = issue(WIDE)
    browser.open(page(WIDE))
    first, second = facts["sheets"][:2]

    def at(sheet, *points):
        return [browser.on_screen(sheet, x, y) for x, y in points]

    words = f"Move it 2\u2033 <b>left</b>, & say \u201cyes\u201d \u05e9\u05dc\u05d5\u05dd {BIDI}"
    browser.tool("note")
    browser.drag(*at(first, (120, 80), (150, 60)))
    assert browser.focus() == "words"
    browser.click("#words-keep")
    assert browser.text("#words-fault") == "Write what you mean, or cancel."
    browser.run("document.getElementById('words').value = arguments[0]", words)
    browser.click("#words-keep")
    browser.tool("line")
    browser.drag(*at(first, (60, 60), (200, 90)))
    browser.click("#after")
    browser.tool("freehand")
    wave = [(100, 100), (110, 120), (130, 90), (150, 110)]
    browser.drag(*at(second, *wave))
    browser.tool("text")
    browser.drag(*at(second, (90, 150)))
    browser.keys("Only here")
    browser.click("#words-keep")
    browser.tool("line")
    browser.drag(*at(second, (10, 10), (20, 60)))
    browser.click("#undo")
    browser.click("#undo")
    browser.click("#redo")
    assert browser.text("#marks").count("Delete") == 4

    browser.click("#save")
    assert browser.unsaved()
    assert browser.focus() == "missing"
    assert browser.text("#missing").splitlines() == [
        "Not saved yet:",
        "No decision is taken.",
        "The name is missing.",
        "The date is missing, or is no day.",
    ]
    browser.click("[value='approved']")
    browser.click("#save")
    assert "There are 4 marks" in browser.text("#missing")
    assert "Question Q1 has no answer." in browser.text("#missing")
    browser.click("[value='approved as noted']")
    browser.type("#answer-Q1", "Glue it up wider.")
    browser.type("#name", "Ida Fenwick")
    browser.run(
        "const d = document.getElementById('date'); d.value = '2026-03-04'; d.dispatchEvent(new Event('input'))"
    )
    browser.run("document.getElementById('pad').scrollIntoView({block: 'center'})")
    left, top, width = browser.run(
        "const r = document.getElementById('pad').getBoundingClientRect(); return [r.left, r.top, r.width]"
    )
    inked = [(40, 70), (80, 30), (120, 70)]
    browser.drag(*[(left + x * width / 320, top + y * width / 320) for x, y in inked])
    assert browser.unsaved()
    browser.click("#save")
    back = browser.saved()

    about = {key: facts[key] for key in ("number", "revision", "digest")}
    assert {key: back[key] for key in back if key not in {"marks", "signature"}} == {
        "staveline_return": 1,
        **about,
        "decision": "approved as noted",
        "name": "Ida Fenwick",
        "date": "2026-03-04",
        "answers": [{"id": "Q1", "answer": "Glue it up wider."}],
    }
    assert [(m["sheet"], m["kind"], m["text"]) for m in back["marks"]] == [
        (1, "note", words),
        (1, "line", ""),
        (2, "freehand", ""),
        (2, "text", "Only here"),
    ]
    assert [list(m) for m in back["marks"]] == [["sheet", "kind", "points", "text"]] * 4
    note, line, hand, text = (m["points"] for m in back["marks"])
    pixel = 0.5  # a step of the screen is about half a millimetre of the sheet here
    close(note, [(120, 80), (150, 60)], pixel)
    close(line, [(60, 60), (200, 90)], pixel)
    close(hand, wave, pixel)
    close(text, [(90, 150)], pixel)
    (stroke,) = back["signature"]
    close(stroke, inked, 1.5)
    assert browser.complaints() == []
    assert browser.run("return performance.getEntriesByType('resource').length") == 0

    # what was entered outlives a reload, and saves as the same file
    (browser.folder / "J-1-A-returned.json").unlink()
    browser.driver.refresh()
    assert browser.text("#marks").count("Delete") == 4
    browser.click("#save")
    assert browser.saved() == back
    # another issue starts empty
    facts2 = {**facts, "digest": "0" * 64}
    (browser.folder / "sign-off.html").write_text(page_html(facts2, issue(WIDE)[1]), encoding="utf-8")
    browser.driver.refresh()
    assert browser.text("#marks") == ""
    assert browser.run("return document.getElementById('name').value") == ""


@pytest.mark.sweep
@needs_browser
def test_with_keys_alone(browser):
    """From the first Tab to the saved file without a pointer."""
    facts, _ = issue()
    browser.open(page())
    keys = browser.named
    width, height = facts["sheets"][0]["size"]
    met = []
    while browser.focus() != "stage" and len(met) < 30:
        browser.keys(keys.TAB)
        met.append(browser.focus())
    assert met[0] == "A", "the way past the sheets comes first"
    assert met[-1] == "stage"
    shown = "return document.getElementById('stage').getAttribute('aria-label')"
    browser.keys(keys.PAGE_DOWN)
    assert browser.run(shown).startswith("Sheet 2 of ")
    browser.keys(keys.PAGE_UP)
    assert browser.run(shown).startswith("Sheet 1 of ")
    # the cross starts in the middle of what is seen
    browser.keys(
        "n",
        *[keys.ARROW_LEFT] * 4,
        keys.ARROW_UP,
        keys.ENTER,
        *[keys.ARROW_RIGHT] * 3,
        *[keys.ARROW_DOWN] * 2,
        keys.ENTER,
    )
    assert browser.focus() == "words"
    browser.keys("Round this corner", keys.TAB, keys.ENTER)
    assert browser.focus() == "stage"
    browser.keys("l", keys.ENTER, *[keys.ARROW_DOWN] * 2, keys.ENTER)
    browser.keys("f", keys.ENTER, keys.ARROW_RIGHT, keys.ARROW_DOWN, keys.ENTER)
    browser.keys("t", keys.ENTER, "Dropped", keys.ESCAPE)
    assert browser.focus() == "stage"
    browser.keys(keys.CONTROL, "z", keys.CONTROL)
    browser.keys(keys.CONTROL, "y", keys.CONTROL)
    browser.keys("+", "+", "0")
    assert browser.run("return document.querySelectorAll('#marks li').length") == 3
    for _ in range(40):
        browser.keys(keys.TAB)
        if browser.focus() == "decision":
            break
    browser.keys(keys.SPACE, keys.ARROW_DOWN)
    browser.keys(keys.TAB, "Ola Brandt", keys.TAB, "03042026")
    while browser.focus() != "save":
        browser.keys(keys.TAB)
    browser.keys(keys.ENTER)
    back = browser.saved()
    x, y = width / 2 - 20, height / 2 - 5
    note, line, hand = back["marks"]
    close(note["points"], [(x, y), (x + 15, y + 10)], 0.01)
    assert note["text"] == "Round this corner"
    close(line["points"], [(x + 15, y + 10), (x + 15, y + 20)], 0.01)
    close(hand["points"], [(x + 15, y + 20), (x + 20, y + 20), (x + 20, y + 25)], 0.01)
    assert (back["decision"], back["name"], back["date"]) == ("approved as noted", "Ola Brandt", "2026-03-04")
    assert back["signature"] is None
    assert browser.complaints() == []


@pytest.mark.sweep
@needs_browser
def test_on_a_phone_with_fingers(browser):
    """At 360 px: nothing runs off to the side, one finger marks, two zoom, and what is touched is large enough."""
    facts, _ = issue(STOPPED)
    browser.open(page(STOPPED), 360, 740, mobile=True)
    assert browser.run("return document.documentElement.scrollWidth") <= 360
    small = browser.run(
        "return [...document.querySelectorAll('button, select, .tools label, .choice, textarea, input[type=text]')]"
        ".filter(e => e.offsetParent).filter(e => { const r = e.getBoundingClientRect(); return r.height < 44 || r.width < 40 })"
        ".map(e => e.outerHTML)"
    )
    assert small == []
    browser.run("document.getElementById('stage').scrollIntoView({block: 'center'})")
    matrix = "return document.querySelector('.shown .paper').getAttribute('transform')"
    assert browser.run(matrix) == "matrix(1 0 0 1 0 0)"
    x, y = browser.on_screen(facts["sheets"][0], 200, 120)
    browser.tool("note")
    browser.pinch(x, y, 20, 40)
    scale = float(re.match(r"matrix\(([\d.]+)", browser.run(matrix))[1])
    assert 1.9 < scale < 2.1, "fingers twice as far apart show it twice as large"
    assert browser.run("return document.getElementById('wording').open") is False, "two fingers mark nothing"
    browser.drag((x, y), kind="touch")
    browser.keys("Too narrow")
    browser.click("#words-keep")
    browser.click("[name=decision]")
    browser.type("#name", "Nell Aske")
    browser.click("#today")
    browser.click("#save")
    back = browser.saved()
    assert back["decision"] == "revise and resubmit"
    assert [(m["kind"], m["text"]) for m in back["marks"]] == [("note", "Too narrow")]
    # the pinch was about this place, so it stayed where it was; a pixel is a millimetre or so on this screen
    close(back["marks"][0]["points"][:1], [(200, 120)], 2)
    assert back["date"] == time.strftime("%Y-%m-%d")
    assert browser.run("return document.documentElement.scrollWidth") <= 360


@needs_browser
@pytest.mark.skipif(not AXE, reason="axe-core-python is not installed here (it comes with the extra `test`)")
def test_axe_finds_nothing_in_the_way(browser):
    browser.open(page(WIDE))
    browser.tool("note")
    browser.drag(*[browser.on_screen(issue(WIDE)[0]["sheets"][0], x, 80) for x in (120, 150)])
    assert browser.violations() == [], "with the words of a note being asked for"
    browser.keys("Here")
    browser.click("#words-keep")
    browser.click("#save")
    browser.run("document.querySelector('.keys').open = true")
    assert browser.violations() == [], "with a mark, and with what is missing"
    # and it would say so
    browser.run("document.querySelector('label[for=name]').remove()")
    assert [line.partition(":")[0] for line in browser.violations("label")] == ["label"]


@needs_browser
@pytest.mark.sweep
def test_without_storage_it_works_and_says_so(browser):
    gone = "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('no', 'SecurityError') }})"
    script = browser.driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": gone})
    try:
        browser.open(page())
        assert browser.text("#kept").startswith("This browser keeps nothing")
        browser.click("[value='approved']")
        browser.type("#name", "Ola Brandt")
        browser.click("#today")
        browser.click("#save")
        assert browser.saved()["decision"] == "approved"
    finally:
        browser.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)


@needs_browser
def test_nothing_from_a_job_acts_in_the_page(browser):
    browser.open(hostile())
    assert browser.run("return document.querySelector('h1').textContent") == SHOWN
    assert browser.run("return document.images.length + document.querySelectorAll('iframe').length") == 0
    assert browser.complaints() == []
    # nor what was kept for it
    spoilt = {
        "marks": [{"sheet": 1, "kind": "note", "points": [[1, 1], [2, "<b>"]], "text": 5}, None, 7],
        "decision": "yes",
    }
    browser.open(page())
    browser.run("for (const k of Object.keys(localStorage)) localStorage.setItem(k, arguments[0])", json.dumps(spoilt))
    browser.driver.refresh()
    assert browser.text("#marks") == ""
    assert browser.complaints() == []


@needs_browser
@pytest.mark.sweep
def test_on_paper_are_the_sheets_the_marks_and_the_form(browser):
    facts, _ = issue(WIDE)
    browser.open(page(WIDE))
    browser.tool("note")
    browser.drag(*[browser.on_screen(facts["sheets"][0], x, 80) for x in (120, 150)])
    browser.keys("Mind the wall")
    browser.click("#words-keep")
    browser.click("#zoom-in")
    browser.type("#answer-Q1", "Glue it up wider.")
    printed = browser.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": True})
    pages = PdfReader(BytesIO(base64.b64decode(printed["data"]))).pages
    texts = [" ".join(p.extract_text().split()) for p in pages]
    count = len(facts["sheets"])
    for n, sheet in enumerate(facts["sheets"]):
        assert f"Sheet {n + 1} of {count}: {sheet['title']}" in re.sub("[\u2068\u2069\ufffe\uffff]", "", texts[n])
        assert pages[n].mediabox.width > pages[n].mediabox.height
    assert "Mind the wall" in texts[0] and "Mind the wall" not in texts[1]
    assert "of issue" in texts[0], "the whole sheet, zoomed in or not"
    form = " ".join(texts[count:])
    for words in (
        "Mind the wall",
        "Glue it up wider.",
        "Approved as noted",
        "Name",
        "Date",
        "Signature, drawn",
        "revision A",
    ):
        assert words in form
    assert "Undo" not in form
    assert len(pages) <= count + 2


SAMPLES = sorted((Path(__file__).resolve().parent.parent / "samples" / "jobs").glob("*.toml"))


@needs_browser
@pytest.mark.skipif(not AXE, reason="axe-core-python is not installed here (it comes with the extra `test`)")
@pytest.mark.sweep
@pytest.mark.parametrize("path", SAMPLES, ids=[p.stem for p in SAMPLES])
def test_a_samples_page_is_in_order_at_every_width(browser, path):
    text = page(path.read_text(encoding="utf-8"))
    for width, height, mobile in ((320, 640, True), (360, 740, True), (800, 600, False), (1600, 1000, False)):
        browser.open(text, width, height, mobile=mobile)
        assert browser.run("return document.documentElement.scrollWidth") <= width
        assert browser.violations() == []
        assert browser.complaints() == []
