"""Revisions on the sheets: clouds round what changed, triangles that stay, and every text still legible."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from pathlib import Path as File

import pytest
from shapely.geometry import LineString, Polygon
from test_sheets import FILES, crossings, faults, line_of, on_paper, texts
from raw_dxf import read_dxf
from rooms import random_job

from layout.changes import Change
from layout.clouds import cloud, revised, revision_note, revision_row
from layout.compare import compare
from layout.drawing import Drawing, Kind, Path, Text
from layout.pipeline import Layout, lay_text
from layout.report import report
from layout.sheets import draw
