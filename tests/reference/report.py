"""The report against independent judges: html5lib (WHATWG parsing), and WCAG 2.2 contrast from its style sheet.

Environment: LOOPMARGIN (the program), WORK (a folder for files).
"""

import os
import re
import subprocess
import sys
from pathlib import Path

import html5lib

PROGRAM = os.environ["LOOPMARGIN"]
WORK = Path(os.environ["WORK"]) / "documents"
FAILURES = []

# Foreground and background that meet in the document, and the contrast that WCAG 2.2 AA asks for: 4.5 for text
# (1.4.3), 3 for what has to be seen (1.4.11).
PAIRS = [
    ("ink", "paper", 4.5), ("quiet", "paper", 4.5), ("limit", "paper", 4.5), ("ink", "soft", 4.5),
    ("quiet", "soft", 4.5), ("quiet", "gap", 4.5),
    ("on", "bad", 4.5), ("on", "warn", 4.5), ("on", "info", 4.5), ("on", "good", 4.5),
    ("curve", "paper", 3), ("curve", "range", 3), ("limit", "range", 3),
]


def check(what, right):
    print(f"{'ok  ' if right else 'FAIL'} {what}")
    if not right:
        FAILURES.append(what)


def run(*arguments):
    done = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, timeout=120)
    if done.returncode != 0:
        sys.exit(f"{arguments}: {done.stderr}")


def pages():
    WORK.mkdir(parents=True, exist_ok=True)
    for old in WORK.iterdir():
        old.unlink()
    aim, site = WORK / "aim.jsonl", WORK / "site.jsonl"
    run("aim", "--from", "sim", "--stops", "8", "--auto", "--record", aim)
    run("simulate", "--scenario", "market-cross", "--for", "2m", "--record", site)
    for name, sessions in {"aim": [aim], "site": [site], "both": [aim, site]}.items():
        out = WORK / f"{name}.html"
        run("report", *sessions, "--out", out)
        yield name, out.read_text(encoding="utf-8")


def text_of(element):
    return "".join(element.itertext()).strip()


def structure(name, page):
    parser = html5lib.HTMLParser(namespaceHTMLElements=False)
    tree = parser.parse(page)
    check(f"{name}: no parse error by html5lib {parser.errors[:3]}", not parser.errors)
    check(f"{name}: language stated", tree.get("lang") == "en")
    levels = [int(e.tag[1]) for e in tree.iter() if isinstance(e.tag, str) and re.fullmatch("h[1-6]", e.tag)]
    check(f"{name}: one h1, no level skipped", levels.count(1) == 1 and levels[0] == 1
          and all(b <= a + 1 for a, b in zip(levels, levels[1:])))
    identifiers = [e.get("id") for e in tree.iter() if e.get("id")]
    check(f"{name}: ids unique", len(identifiers) == len(set(identifiers)))
    named = [i for e in tree.iter() for i in (e.get("aria-labelledby") or "").split()]
    check(f"{name}: labels refer to something", named != [] and set(named) <= set(identifiers))
    drawings = [e for e in tree.iter() if isinstance(e.tag, str) and e.tag.endswith("svg")]
    described = all({"title", "desc"} <= {c.tag.split("}")[-1] for c in d} and d.get("role") == "img" for d in drawings)
    check(f"{name}: {len(drawings)} drawings with title and description", drawings != [] and described)
    headers = [e for e in tree.iter("th")]
    check(f"{name}: {len(headers)} table headers with scope", all(h.get("scope") for h in headers))
    check(f"{name}: every table has a caption", all(t.find("caption") is not None for t in tree.iter("table")))
    boxes = [e for e in tree.iter("label")]
    check(f"{name}: every box to tick has its words", boxes != [] and all(len(text_of(b)) > 10 for b in boxes)
          and len(boxes) == len(list(tree.iter("input"))))
    foreign = [a for e in tree.iter() for a in e.attrib if a in ("src", "href", "srcset", "style") or a.startswith("on")]
    scripts = list(tree.iter("script"))
    check(f"{name}: nothing is loaded, nothing runs", not foreign and not scripts)


def luminance(colour):
    parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a, b):
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def colours(page):
    style = page.split("<style>")[1].split("</style>")[0]
    roots = [dict(re.findall(r"--([a-z]+):\s*(#[0-9a-f]{6})", block)) for block in re.findall(r":root\s*{([^}]*)}", style)]
    light, dark = roots[0], {**roots[0], **roots[1]}
    for theme, palette in (("light", light), ("dark", dark)):
        for front, back, least in PAIRS:
            value = contrast(palette[front], palette[back])
            check(f"{theme}: {front} on {back} {value:.1f} of {least}", value >= least)


def main():
    page = ""
    for name, page in pages():
        structure(name, page)
    colours(page)
    if FAILURES:
        sys.exit(f"{len(FAILURES)} checks failed")


main()
