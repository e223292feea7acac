"""Run dxf2gcode without a screen: ``/usr/bin/python3 headless.py FILE.dxf OUT.ngc``.

Its Debian package hands floats to calls of Qt that take whole numbers only from Python 3.10 on; here they are rounded.
It needs the Python that it was installed for.
"""

import contextlib
import os
import runpy
import sys
import tempfile
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"


def rounding(cls, *names):
    """Let methods of a Qt class take floats."""
    for name in names:
        plain = getattr(cls, name)

        def call(self, *args, _plain=plain, **named):
            return _plain(self, *(round(a) if isinstance(a, float) else a for a in args), **named)

        setattr(cls, name, call)


def main(source, target):
    from PyQt5 import QtGui, QtWidgets  # noqa: PLC0415

    class Font(QtGui.QFont):
        def __init__(self, *args):
            super().__init__(*(max(1, round(a)) if isinstance(a, float) else a for a in args))

    QtGui.QFont = Font
    rounding(QtWidgets.QProgressBar, "setValue")
    rounding(QtWidgets.QScrollBar, "setValue")
    rounding(QtWidgets.QWidget, "resize", "move")
    sys.argv = ["dxf2gcode", "-q", "-e", target, source]
    # it leaves with 1 in any case
    with contextlib.suppress(SystemExit):
        runpy.run_path("/usr/bin/dxf2gcode", run_name="__main__")


if __name__ == "__main__":
    source, target = sys.argv[1:3]
    with tempfile.TemporaryDirectory() as home:
        # its settings are made anew each time
        for name in ("HOME", "XDG_CONFIG_HOME", "XDG_RUNTIME_DIR"):
            os.environ[name] = home
        main(source, target)
        sys.stdout.flush()
    written = Path(target)
    # Qt's own end may crash; the file is what counts
    os._exit(0 if written.is_file() and written.stat().st_size else 1)
