"""How wide a text may come out, from the advances of DejaVu Sans, the widest face a reader is likely to fall back to.

The advances (thousandths of the em) were read from the font file; the font itself is not needed.
"""

from __future__ import annotations

import re
from functools import lru_cache

CAP_HEIGHT = 0.716
"""Height of capitals as a share of the font size (Arial and Helvetica 0.716, DejaVu Sans 0.729)."""

_REGULAR = {
    227: '′',
    275: "'",
    278: 'ijlìíîïĩīĭįıĵĺļ',
    284: 'ł',
    295: 'IJÌÍÎÏĨĪĬĮİĴ',
    318: ' ,.·‘’',
    337: '/:;\\|¦',
    342: 'ŀ',
    352: 'fſ',
    361: '-',
    374: '″',
    375: 'ľ',
    390: '()[]',
    392: 'tţťŧ',
    401: '!¡²³¹',
    411: 'rŕŗř',
    460: '"',
    471: 'ªº',
    500: '*_`§¨¯°´¸–',
    518: '“”',
    521: 'sśŝşš',
    525: 'zźżž',
    531: '?¿',
    550: 'cçćĉċč',
    556: 'ĳ',
    557: 'LĹĻĽĿ',
    562: 'Ł',
    575: 'F',
    579: 'kķĸ',
    590: 'Ĳ',
    592: 'vxyýÿŷ',
    602: '⌀',
    603: 'P',
    605: 'Þ',
    611: 'TYÝŢŤŦŶŸ',
    612: 'o«»ðòóôõöøōŏő',
    613: 'aàáâãäåāăą',
    615: 'eèéêëēĕėęě',
    630: 'ß',
    632: 'EÈÉÊËĒĔĖĘĚ',
    634: 'hnuñùúûüĥńņňŋũūŭůűų',
    635: 'SbdgpqþďđĝğġģŚŜŞŠ',
    636: '$0123456789{}¢£¤¥µ¶',
    656: 'KĶ',
    684: 'AVÀÁÂÃÄÅĀĂĄ',
    685: 'XZŹŻŽ',
    686: 'B',
    695: 'RħŔŖŘ',
    698: 'CÇĆĈĊČ',
    732: 'UÙÚÛÜŨŪŬŮŰŲ',
    748: 'NÑŃŅŇŊ',
    752: 'HĤ',
    770: 'DĎ',
    775: 'GÐĐĜĞĠĢ',
    780: '&',
    787: 'OQÒÓÔÕÖØŌŎŐ',
    813: 'ŉ',
    818: 'wŵ',
    838: '#+<=>^~¬±×÷',
    863: 'M',
    916: 'Ħ',
    950: '%',
    969: '¼½¾',
    974: 'mÆ',
    982: 'æ',
    989: 'WŴ',
    1000: '@©®—',
    1023: 'œ',
    1070: 'Œ',
}  # fmt: skip
_BOLD = {
    264: '′',
    306: "'",
    343: 'ijlìíîïĩīĭįıĵĺļ',
    348: ' ',
    365: '/\\|¦',
    371: 'ł',
    372: 'IJÌÍÎÏĨĪĬĮİĴ',
    380: ',.·‘’',
    400: ':;',
    415: '-',
    435: 'fſ',
    438: '²³¹',
    447: '″',
    456: '!¡',
    457: '()[]',
    478: 'tţťŧ',
    479: 'ľ',
    493: 'rŕŗř',
    500: '_`§¨¯°´¸–',
    521: '"',
    523: '*',
    557: 'ŀ',
    564: 'ªº',
    580: '?¿',
    582: 'zźżž',
    593: 'cçćĉċč',
    595: 'sśŝşš',
    602: '⌀',
    636: '¤¶',
    637: 'LĹĻĽĿ',
    642: 'Ł',
    645: 'x',
    646: '«»',
    652: 'vyýÿŷ',
    657: '“”',
    665: 'kķĸ',
    675: 'aàáâãäåāăą',
    678: 'eèéêëēĕėęě',
    682: 'TŢŤŦ',
    683: 'EFÈÉÊËĒĔĖĘĚ',
    686: 'ĳ',
    687: 'oðòóôõöøōŏő',
    696: '$0123456789¢£¥',
    712: 'hnu{}ñùúûüĥńņňŋũūŭůűų',
    716: 'bdgpqþďđĝğġģ',
    719: 'ß',
    720: 'SŚŜŞŠ',
    724: 'YÝŶŸ',
    725: 'ZŹŻŽ',
    733: 'P',
    734: 'CÇĆĈĊČ',
    736: 'µ',
    738: 'Þ',
    744: 'Ĳ',
    762: 'B',
    770: 'RŔŖŘ',
    771: 'X',
    774: 'AVÀÁÂÃÄÅĀĂĄ',
    775: 'KĶ',
    790: 'ħ',
    812: 'UÙÚÛÜŨŪŬŮŰŲ',
    821: 'GĜĞĠĢ',
    830: 'DĎ',
    837: 'HNÑĤŃŅŇŊ',
    838: '#+<=>^~¬±Ð×÷Đ',
    850: 'OQÒÓÔÕÖØŌŎŐ',
    872: '&',
    924: 'wŵ',
    974: 'Ħ',
    983: 'ŉ',
    995: 'M',
    1000: '@©®—',
    1002: '%',
    1035: '¼½¾',
    1042: 'm',
    1048: 'æ',
    1085: 'Æ',
    1094: 'œ',
    1103: 'WŴ',
    1167: 'Œ',
}  # fmt: skip


class _Advances(dict[str, int]):
    """How far each letter moves the pen, as the tables above have it."""

    def __missing__(self, letter: str) -> int:
        """Return the advance of a letter that no table has."""
        return _UNKNOWN


_ADVANCE = _Advances({c: n for n, letters in _REGULAR.items() for c in letters})
_BOLD_ADVANCE = _Advances({c: n for n, letters in _BOLD.items() for c in letters})
ASCENT, DESCENT = 1.31, 0.34
"""How far a line of text reaches above and below its baseline at most, in heights of its capitals (DejaVu Sans)."""
_UNKNOWN = 1050
"""A letter outside the table is taken as wide as the widest signs of other scripts."""


@lru_cache(maxsize=8192)
def text_width(text: str, height: float, bold: bool = False) -> float:
    """Return the width in mm that ``text`` takes at most, set with capitals ``height`` mm high."""
    table = _BOLD_ADVANCE if bold else _ADVANCE
    return sum(map(table.__getitem__, text)) / 1000.0 * height / CAP_HEIGHT


NO_BREAK = "\N{NO-BREAK SPACE}"
_SPACES = re.compile(rf"[^\S{NO_BREAK}]+")
_BREAK = re.compile(r"(?<!\d) | (?!\d+/\d)")
"""A space, but for one between a whole number and its fraction."""


def fold(text: str, width: float, height: float, bold: bool = False) -> list[str]:
    """Return ``text`` in lines no wider than ``width`` mm, broken at spaces; a longer word is broken where it must.

    A fraction stays with its whole number: on a line of its own it would read as a measure. So does what a no-break space
    holds together, which is set as a space.
    """
    # most texts are a line already; a space that is none of the plain ones is no printable sign
    if (
        text
        and text.isprintable()
        and "  " not in text
        and text.strip() == text
        and text_width(text, height, bold) <= width
    ):
        return [text]
    lines: list[str] = []
    for word in _BREAK.split(_SPACES.sub(" ", text).strip(" ")):
        rest = word.replace(NO_BREAK, " ")
        if lines and text_width(f"{lines[-1]} {rest}", height, bold) <= width:
            lines[-1] += f" {rest}"
            continue
        while text_width(rest, height, bold) > width and len(rest) > 1:
            n = len(rest)
            while n > 1 and text_width(rest[:n], height, bold) > width:
                n -= 1
            lines.append(rest[:n])
            rest = rest[n:]
        lines.append(rest)
    return lines
