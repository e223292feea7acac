"""An SVG file from outside as a tree of elements, read within limits: nothing of it is run, fetched or unfolded.

A sheet comes back from somebody's mail. So its size is asked of the system before it is read, and depth, elements and
characters are counted while it is parsed, so that a file made to harm ends in a message and not in a full memory.
"""

from __future__ import annotations

import os
import stat
import xml.etree.ElementTree as ET
from pathlib import Path

from layout.faults import LayoutError

MOST_BYTES = 12 * 1024 * 1024
MOST_DEPTH = 64
MOST_ELEMENTS = 30_000
MOST_ATTRIBUTES = 200_000
"""The largest sheet of the samples has a twentieth of these."""
SVG = "{http://www.w3.org/2000/svg}"


class ReturnError(LayoutError):
    """A file that came back and cannot be read, or is none of ours; the message is one for people."""


def read_bytes(path: Path, most: int = MOST_BYTES) -> bytes:
    """Return a file's content, asking for its size first. Raises ReturnError where it cannot be read or is too large."""
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            raise ReturnError(f"{path} is not a file; expected a sheet (.svg) or what sign-off.html saved (.json)")
        if about.st_size > most:
            raise ReturnError(f"{path} has {about.st_size / 2**20:.0f} MB; at most {most // 2**20} MB are read")
        # without waiting: what was a file a moment ago may be a pipe by now
        with os.fdopen(
            os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)), "rb"
        ) as f:
            data = f.read(most + 1)
    except (OSError, ValueError) as error:
        raise ReturnError(f"could not read {path}: {getattr(error, 'strerror', None) or error}") from error
    if len(data) > most:
        raise ReturnError(f"{path} has more than {most // 2**20} MB, which is the most that is read")
    if data[:2] == b"\x1f\x8b":
        raise ReturnError(f"{path} is compressed; save it as plain SVG, not as .svgz")
    return data


class _Tree:
    """What a parser hands elements to; counts as it builds."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.builder = ET.TreeBuilder()
        self.depth = self.elements = self.attributes = 0

    def start(self, tag: str, attributes: dict[str, str]) -> ET.Element:
        self.depth += 1
        self.elements += 1
        self.attributes += len(attributes)
        if self.depth > MOST_DEPTH:
            raise ReturnError(f"{self.file}: elements lie more than {MOST_DEPTH} deep in one another; no sheet does")
        if self.elements > MOST_ELEMENTS or self.attributes > MOST_ATTRIBUTES:
            raise ReturnError(f"{self.file} has more than {MOST_ELEMENTS} elements; no sheet has")
        return self.builder.start(tag, attributes)

    def end(self, tag: str) -> ET.Element:
        self.depth -= 1
        return self.builder.end(tag)

    def data(self, text: str) -> None:
        self.builder.data(text)

    def pi(self, target: str, _text: str | None) -> None:
        if target != "xpacket":
            raise ReturnError(f"{self.file} asks for <?{target[:40]}?>, which leads out of it; save it as plain SVG")

    def close(self) -> ET.Element:
        return self.builder.close()


def svg_tree(data: bytes, file: str) -> ET.Element:
    """Return the root of an SVG. Raises ReturnError where it is none, is damaged, or holds what a sheet has no need of."""
    from defusedxml import DefusedXmlException  # noqa: PLC0415
    from defusedxml.ElementTree import DefusedXMLParser  # noqa: PLC0415

    # a document type alone is harmless and some editors write one; entities are what bombs are made of
    # one tag with a million attributes would be in memory before it could be counted
    if data.count(b"=") > MOST_ATTRIBUTES or data.count(b"<") > 4 * MOST_ELEMENTS:
        raise ReturnError(f"{file} has more elements or attributes than any sheet")
    parser = DefusedXMLParser(target=_Tree(file), forbid_dtd=False, forbid_entities=True, forbid_external=True)
    try:
        parser.feed(data)
        root: ET.Element = parser.close()
    except DefusedXmlException as error:
        raise ReturnError(
            f"{file} declares entities or asks for other files; a sheet needs none: save it as plain SVG"
        ) from error
    except ET.ParseError as error:
        raise ReturnError(f"{file} is not whole XML: {error}") from error
    except (ValueError, LookupError, AssertionError) as error:
        raise ReturnError(f"{file} cannot be read in the encoding it names; save it as UTF-8") from error
    if root.tag != f"{SVG}svg":
        raise ReturnError(f"{file} is not an SVG; expected a sheet that was issued, with marks on it")
    return root
