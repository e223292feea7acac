"""The version that is printed on every drawing and written into every report."""

VERSION = "0.1.0"
