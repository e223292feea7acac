"""How lengths, names and lines of text may be spelt, as regular expressions that every dialect reads alike.

They say of a text what the parsers say (`units.parse_length`, the kinds of value of `job_values`), for programs that know the
job file by its schema alone. Digits and blanks are spelt out: what ``\\d`` and ``\\s`` mean differs from dialect to dialect.
"""

from __future__ import annotations

BLANK = r"[\t-\r\x1c-\x20\x85\u00a0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]"
"""What Python strips from a text's ends."""
_FILLED = BLANK.replace("[", "[^", 1)
TURNS = r"\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"
"""Unicode's marks of direction (UAX 9): unseen, they turn round the letters and figures beside them on sheet and terminal."""
_UNSEEN = rf"\x00-\x1f\x7f-\x9f\u2028\u2029\ufffe\uffff{TURNS}"

LINE = rf"^(?![\s\S]*[{_UNSEEN}])"
"""One line of text, perhaps empty; without marks that control or turn."""
FILLED = rf"{LINE}[\s\S]*{_FILLED}"
NAME = r"[A-Za-z0-9_-]+"
JOB_NUMBER = r"[A-Za-z0-9_-][A-Za-z0-9._-]*"
LAYER = r"[A-Za-z0-9_-]{1,31}"
TEMPERATURE = rf"{BLANK}*(-?[0-9]+(?:[.,][0-9]+)?){BLANK}*°?{BLANK}*([FC]){BLANK}*"
LOAD = rf"{BLANK}*([0-9]+(?:[.,][0-9]+)?){BLANK}*(lb|kg){BLANK}*"
LOAD_ABOVE_ZERO = LOAD.replace("([0-9]+", r"((?=[0-9.,]*[1-9])0*[0-9]{1,5}", 1)
WINDOW = rf"{LINE}{BLANK}*window{BLANK}+{_FILLED}+{BLANK}*$"
"""``window W1``, which places something below that window."""
_STEP = r"[/\\]"
FILE_BESIDE = (
    rf"^(?![\s\S]*[:{_UNSEEN}])(?!{BLANK}*{_STEP})(?![\s\S]*{_STEP}{{2}})(?![\s\S]*{_STEP}{BLANK}*$)"
    rf"(?!(?:[\s\S]*{_STEP}|{BLANK}*)\.\.(?:{_STEP}|{BLANK}*$))[\s\S]*{_FILLED}"
)
"""A file in the job file's folder or below it."""
AMOUNT = rf"^{BLANK}*[+-]?(?:[0-9_]+\.?[0-9_]*|\.[0-9_]+)(?:[eE][+-]?[0-9_]+)?{BLANK}*$"
"""An amount of money in quotes."""
DAY = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"

MOST_DIGITS_COMPARED = 3
"""A fraction of longer numbers above and below may be less than one as far as its pattern can tell."""
_MINUS, _SLASH = "[-−–‐]", "[/⁄]"
_FOOT, _INCH = "['‘’′‵]", "(?:[\"“”″‟]|['‘’′‵]{2})"
_VULGAR = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_WHOLE, _DECIMAL = "[0-9]+", r"(?:[0-9]+(?:[.,][0-9]+)?|\.[0-9]+)"
_FRACTION = f"(?:{_WHOLE}{_SLASH}{_WHOLE}|[{_VULGAR}])"
_GAP = f"(?:{BLANK}*{_MINUS}{BLANK}*|{BLANK}+|(?=[{_VULGAR}]))"
_UNDER_TWELVE = "0*(?:[0-9]|1[01])"
_INCHES = rf"(?:{_UNDER_TWELVE}{_GAP}{_FRACTION}|{_FRACTION}|{_UNDER_TWELVE}(?:[.,][0-9]+)?|\.[0-9]+)"
_PLAIN = rf"(?:{_WHOLE}{_GAP}{_FRACTION}|{_FRACTION}|{_DECIMAL}){BLANK}*(?:{_INCH}|in\.?|mm|cm|m)?"
_FEET = rf"{_WHOLE}(?:[.,][0-9]+)?{BLANK}*{_FOOT}(?!{_FOOT})(?:{BLANK}*{_MINUS}?{BLANK}*{_INCHES}{BLANK}*{_INCH}?)?"
_TAPE = rf"{BLANK}*{{minus}}{BLANK}*(?:{_FEET}|{_PLAIN}){BLANK}*$"


def _proper() -> str:
    """Return the fractions that are more than nothing and less than one, from the first digit above that is no zero."""
    down = f"{_SLASH}0*"
    most = MOST_DIGITS_COMPARED
    ways = [f"[1-9][0-9]{{{n}}}{down}[1-9][0-9]{{{n + 1},}}" for n in range(most)]
    ways.append(f"[1-9][0-9]{{{most},}}{down}[1-9][0-9]{{{most},}}")
    group = 0
    for digits in range(1, most + 1):
        for same in range(digits):
            tail = f"[0-9]{{{digits - same - 1}}}"
            if same:
                group += 1
            begin = f"\\{group}" if same else ""
            less = "|".join(f"{n}{tail}{down}{begin}[{n + 1}-9]{tail}" for n in range(0 if same else 1, 9))
            ways.append(f"([1-9][0-9]{{{same - 1}}})(?:{less})" if same else less)
    return "|".join(ways).replace("[0-9]{0}", "")


def _tape(minus: str) -> str:
    """Return the spelling of a length from where it begins to the end of the text."""
    proper = rf"(?=[^/⁄]*$|(?:[\s\S]*[^0-9])?0*(?:{_proper()})(?![0-9]))"
    return proper + _TAPE.replace("{minus}", minus)


def length() -> str:
    """Return the spellings of a length of either sign, as `units.parse_length` takes them but for how long it may be."""
    return f"^{_tape(f'{_MINUS}?')}"


def length_above_zero() -> str:
    """Return the spellings of a length of more than zero."""
    return f"^(?=[\\s\\S]*[1-9{_VULGAR}]){_tape('')}"


def length_from_zero() -> str:
    """Return the spellings of a length that is not negative; ``-0`` is not."""
    return f"^(?!{BLANK}*{_MINUS}[\\s\\S]*[1-9{_VULGAR}]){_tape(f'{_MINUS}?')}"


def on_a_wall() -> str:
    """Return the spellings of a point on a wall: its name with start, end or a station, as in ``A 25 1/2``."""
    return f"{LINE}{BLANK}*{NAME} (?:{BLANK}*(?:start|end){BLANK}*$|{_tape(f'{_MINUS}?')})"


def profile(names: tuple[str, ...]) -> str:
    """Return the spellings of an edge profile: its name in any case, alone or with a size of more than zero."""
    known = "|".join("".join(f"[{c}{c.upper()}]" for c in name) for name in names)
    size = f"(?=[\\s\\S]*[1-9{_VULGAR}]){_tape('')}"
    return f"{LINE}{BLANK}*(?:{known})(?:{BLANK}*$| {size})"
