"""From page data to HTML: escaping on, undefined names are errors, no outside file."""

from __future__ import annotations

from pathlib import Path

import jinja2
from markupsafe import Markup

from alarmsift.report import words
from alarmsift.report.alarm_list import clipped
from alarmsift.report.detector_page import DetectorPage
from alarmsift.report.figures import number, percent, sentence
from alarmsift.report.glossary import CHAPTERS, TERMS
from alarmsift.report.index_page import IndexPage
from alarmsift.report.point_page import PointPage
from alarmsift.report.times import duration
from alarmsift.report.urgent import FRESH_H
from alarmsift.report.watch_page import WatchPage

TEMPLATES = Path(__file__).with_name("templates")


def environment() -> jinja2.Environment:
    """Return the environment in which every page is made."""
    env = jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES, encoding="utf-8"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        newline_sequence="\n",
    )
    env.filters |= {
        "number": number,
        "percent": percent,
        "duration": duration,
        "sentence": sentence,
        "clipped": clipped,
    }
    env.globals |= {
        "style": _own("style.css") + _cause_style(),
        "plot_style": _own("plot.css"),
        "evidence_style": _own("evidence.css"),
        "plot_script": _own("plot.js"),
        "index_script": _own("index.js"),
        "treat_as": words.TREAT_AS,
        "cautions": words.CAUTIONS,
        "chapters": CHAPTERS,
        "term": term,
        "all_causes": words.CAUSES,
        "order_of": {key: place for place, key in enumerate(words.TREAT_AS)},
        "fresh_hours": f"{FRESH_H:.0f}",
        "reason_groups": words.REASON_GROUPS,
    }
    return env


def _own(name: str) -> Markup:
    """Return one of our own files to stand in a page as it is, without its indents."""
    lines = (TEMPLATES / name).read_text(encoding="utf-8").splitlines()
    return Markup("\n".join(line.strip() for line in lines))  # noqa: S704  (no user's text in it)


def _cause_style() -> Markup:
    """Return a class a cause: shorter in a list of a thousand alarms than colours in each row."""
    rule = ".k-{} {{ background: {}; color: {}; }}\n"
    rows = (rule.format(key, look.colour, look.ink) for key, look in words.CAUSES.items())
    return Markup("".join(rows))  # noqa: S704  (our own words)


def term(key: str, shown: str = "", root: str = "") -> Markup:
    """Return a word that leads to its place in the glossary and tells its meaning on the way.

    Parameters
    ----------
    key : str
        Its address, a key of ``TERMS``.
    shown : str
        The word as it stands in the sentence; the glossary's own when blank.
    root : str
        Way from the page to the folder of the report and the page with the glossary,
        ``../index.html``; blank on that page itself.
    """
    entry = TERMS[key]
    link = '<a class="term" href="{}#term-{}" data-means="{}">{}</a>'
    return Markup(link).format(root, key, entry.meaning, shown or entry.word)


def data_of(live: str) -> Markup:
    """Mark the data of a moving plot as safe: ``fit_for_page`` has escaped every tag in it."""
    return Markup(live)  # noqa: S704


def picture(svg: str) -> Markup:
    """Mark an SVG of our own plots as safe: the canvas, and matplotlib, escape every text in it."""
    return Markup(svg)  # noqa: S704


def index_html(env: jinja2.Environment, page: IndexPage) -> str:
    """Return the first page."""
    return env.get_template("index.html.j2").render(page=page, picture=picture)


def watch_html(env: jinja2.Environment, page: WatchPage) -> str:
    """Return the half sheet for the next watch."""
    return env.get_template("watch.html.j2").render(page=page)


def point_html(env: jinja2.Environment, page: PointPage) -> str:
    """Return a point's page."""
    return env.get_template("point.html.j2").render(page=page, picture=picture, data_of=data_of)


def detector_html(env: jinja2.Environment, page: DetectorPage) -> str:
    """Return a detector's page."""
    return env.get_template("detector.html.j2").render(page=page, picture=picture)
