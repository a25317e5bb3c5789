"""A4 sheets with the ship's name, page numbers and the caution on each; equal input, equal bytes.

fpdf2 is pure Python and needs no other program. The font is the one that comes with matplotlib
(DejaVu Sans: Latin, Greek, Cyrillic and more), and only the letters in use are embedded. A letter
that it lacks is drawn as an empty box, and the last page says which letters those were.
"""

from __future__ import annotations

import datetime as dt
import unicodedata
from pathlib import Path

import matplotlib as mpl
from fpdf import FPDF
from fpdf.enums import XPos, YPos
from fpdf.fonts import TTFFont

FONT, BOX = "DejaVu", "□"
MARGIN, FOOT = 16.0, 15.0  # [mm]
INK, SOFT, RULE = (21, 32, 43), (76, 90, 102), (200, 207, 213)
GRAVE, WASH = (122, 20, 32), (244, 246, 248)
UNDATED = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # of a report without a single row


class Sheets(FPDF):
    """The paper: texts go through ``fit``, so that no letter can stop a report.

    Parameters
    ----------
    title, period, caution : str
        Stand at the head and the foot of each page.
    made : datetime
        Date in the file; the time of the last row, so that equal logs give equal bytes.
    """

    def __init__(self, title: str, period: str, *, caution: str, made: dt.datetime) -> None:
        super().__init__(format="A4")
        folder = Path(mpl.get_data_path()) / "fonts" / "ttf"
        self.add_font(FONT, "", folder / "DejaVuSans.ttf")
        self.add_font(FONT, "B", folder / "DejaVuSans-Bold.ttf")
        letters = [frozenset(f.cmap) for f in self.fonts.values() if isinstance(f, TTFFont)]
        self._known = letters[0].intersection(*letters[1:])
        self.lost: set[str] = set()
        self._widths: dict[tuple[str, str, float], float] = {}
        self._title, self._period = self.fit(title), self.fit(period)
        self._caution = caution
        self.set_creation_date(made)
        self.set_title(self._title)
        self.set_producer("alarmsift")
        self.set_lang("en")
        self.set_margins(MARGIN, MARGIN)
        self.set_auto_page_break(True, MARGIN + 4)
        self.c_margin = 0.0  # so that cells begin where lines do

    def header(self) -> None:
        """Write the ship and the period on every page but the first, which has them in large."""
        if self.page_no() == 1:
            return
        self.ink(8, colour=SOFT)
        self.cell(0, 4, self.held(self._title, 85.0))
        self.set_x(MARGIN)
        self.cell(0, 4, self._period, align="R", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.rule()
        self.ln(3)

    def footer(self) -> None:
        """Write the caution and the page number."""
        self.set_y(-FOOT)
        self.ink(7.5, colour=SOFT)
        self.cell(0, 5, self._caution)
        self.set_x(MARGIN)
        self.cell(0, 5, f"{self.page_no()} / {{nb}}", align="R")

    def ink(self, size: float, *, bold: bool = False, colour: tuple[int, int, int] = INK) -> None:
        """Choose the letters for what follows."""
        self.set_font(FONT, "B" if bold else "", size)
        self.set_text_color(*colour)

    def fit(self, words: str) -> str:
        """Return the words with every letter that the font lacks as a box; ``lost`` keeps it."""
        if words.isascii() and words.isprintable():
            return " ".join(words.split())
        flat = " ".join(unicodedata.normalize("NFC", words).split())
        lost = {letter for letter in flat if ord(letter) not in self._known}
        self.lost |= lost
        return "".join(BOX if letter in lost else letter for letter in flat)

    def lost_words(self) -> str:
        """Return what is to be said of the lost letters; blank when none was lost."""
        if not self.lost:
            return ""
        codes = [f"U+{ord(one):04X}" for one in sorted(self.lost)]
        more = f" and {len(codes) - 12} more" if len(codes) > 12 else ""
        return (
            f"{len(codes)} letters in the logs are not in this document's font and stand as {BOX} "
            f"here: {', '.join(codes[:12])}{more} (Unicode). index.html shows them."
        )

    def width(self, words: str) -> float:
        """Return the width of words in the present letters [mm]."""
        key = (words, self.font_style, self.font_size_pt)
        if key not in self._widths:
            self._widths[key] = self.get_string_width(words)
        return self._widths[key]

    def put(self, words: str, *, wide: float, high: float, align: str = "L") -> None:
        """Write one line at the present place, in a box of ``wide`` x ``high`` [mm].

        Plain letters are placed directly, which takes a third of the time of a cell; a cell also
        turns what is written from right to left.
        """
        if not words.isascii():
            self.cell(wide, high, words, align=align)
            return
        left = {"L": 0.0, "R": wide - self.width(words), "C": (wide - self.width(words)) / 2}[align]
        self.text(self.get_x() + left, self.get_y() + high / 2 + 0.3 * self.font_size, words)

    def held(self, words: str, room: float) -> str:
        """Return one line of words that is not wider than ``room`` [mm]."""
        if self.width(words) <= room:
            return words
        while words and self.width(words + "…") > room:
            words = words[:-1]
        return words.rstrip() + "…"

    def lines(self, words: str, room: float) -> list[str]:
        """Return words as lines not wider than ``room`` [mm]; a longer word is broken."""
        out, line, space = [], "", self.width(" ")
        used = 0.0
        for word in self.fit(words).split():
            rest, wide = word, self.width(word)
            while wide > room:
                head = self.held(rest, room).removesuffix("…") or rest[0]
                out += [line] if line else []
                out.append(head)
                line, used, rest = "", 0.0, rest[len(head) :]
                wide = self.width(rest)
            if line and used + space + wide > room:
                out.append(line)
                line, used = rest, wide
            elif rest:
                used += wide + (space if line else 0.0)
                line = f"{line} {rest}" if line else rest
        return [*out, line] if line else out or [""]

    def room(self, height: float) -> bool:
        """Begin a new page when less than ``height`` [mm] is left; tell whether it did."""
        if self.will_page_break(height):
            self.add_page()
            return True
        return False

    def paragraph(
        self,
        words: str,
        *,
        size: float = 9.0,
        bold: bool = False,
        colour: tuple[int, int, int] = INK,
    ) -> None:
        """Write words over the whole width."""
        self.ink(size, bold=bold, colour=colour)
        height = size * 0.48
        for line in self.lines(words, self.epw):
            self.room(height)
            self.ink(size, bold=bold, colour=colour)
            self.put(line, wide=self.epw, high=height)
            self.ln(height)
        self.ln(1.2)

    def heading(self, words: str, *, size: float = 12.0) -> None:
        """Write a heading with room for what follows it."""
        self.room(36)
        self.ln(2.5)
        self.ink(size, bold=True)
        for line in self.lines(words, self.epw):
            self.cell(0, size * 0.48, line, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(1)

    def rule(self, colour: tuple[int, int, int] = RULE) -> None:
        """Draw a line over the whole width."""
        self.set_draw_color(*colour)
        self.set_line_width(0.2)
        self.line(MARGIN, self.get_y(), MARGIN + self.epw, self.get_y())
