"""Antenna patterns computed by NEC-2 (Debian's nec2c), fed in as MSI pattern files: gain and beamwidth come back.

Own decks, from published geometry (memory): a thin half-wave dipole (Balanis, Antenna Theory, chapter 4: 2.15 dBi,
78°) and Yagi antennas of NBS Technical Note 688 (Viezbicke 1976), Table 1: 3 elements 7.1 dBd, 6 elements 10.2 dBd.
Published decks: examples of Debian's package xnec2c, fetched and unpacked when this runs and never stored here
(their licence is GPL-3): the 12-element log-periodic of the NEC-2 manual, a Yagi, a corner reflector. Without network
they are skipped, and the script says so.
"""

import math
import os
import re
import subprocess
import tempfile
from pathlib import Path

from reference import Comparison, finish, run

MHZ, WAVELENGTH = 400.0, 299.792458 / 400.0


def wires(elements, radius):
    """GW cards of vertical elements (x, length in wavelengths), 21 segments each."""
    cards = []
    for tag, (x, length) in enumerate(elements, start=1):
        half = length / 2 * WAVELENGTH
        cards.append(f"GW {tag} 21 {x * WAVELENGTH} 0 {-half} {x * WAVELENGTH} 0 {half} {radius * WAVELENGTH}")
    return cards


def yagi(reflector, driven, directors, spacing):
    """Elements of a Yagi whose reflector stands 0.2 wavelengths behind the driven element, which comes second."""
    ahead = [((at + 1) * spacing, length) for at, length in enumerate(directors)]
    return wires([(-0.2, reflector), (0.0, driven), *ahead], 0.0085 / 2)


def own_deck(cards, fed):
    return cards + ["GE 0", f"EX 0 {fed} 11 0 1 0"], MHZ


def published_deck(path, mhz):
    """A deck without its own frequencies, plots and near fields."""
    lines = path.read_text().splitlines()
    return [line for line in lines if line[:2] not in ("CM", "CE", "FR", "RP", "EN", "NE", "NH", "XQ", "PL")], mhz


def pattern(deck, request):
    """(theta, phi, gain in dBi) of a radiation pattern, request as on an RP card."""
    cards, mhz = deck
    with tempfile.TemporaryDirectory() as folder:
        source, result = Path(folder, "deck.nec"), Path(folder, "deck.out")
        source.write_text("\n".join(["CE", *cards, f"FR 0 1 0 0 {mhz} 0", f"RP 0 {request}", "EN", ""]))
        subprocess.run(["nec2c", "-i", source, "-o", result], check=True, capture_output=True)
        table = result.read_text().split("RADIATION PATTERNS")[-1].splitlines()
    rows = [line.split() for line in table if re.match(r"\s+-?\d+\.\d+\s+-?\d+\.\d+\s+-?\d+\.\d+", line)]
    return [(float(row[0]), float(row[1]), float(row[4])) for row in rows]


def cuts(deck, step):
    """Peak gain, and gain by angle from the peak in both planes through it."""
    sphere = pattern(deck, "91 180 1000 0 0 2 2")
    theta, phi, _ = max(sphere, key=lambda row: row[2])
    count = round(360 / step)
    horizontal = pattern(deck, f"1 {count} 1000 {theta} {phi} 0 {step}")
    vertical = pattern(deck, f"{count} 1 1000 {theta} {phi} {step} 0")
    gains = [[row[2] for row in cut] for cut in (horizontal, vertical)]
    return max(map(max, gains)), gains


def width(gains, step):
    """-3 dB width, interpolated between fine steps; the cut begins at the peak."""

    def reach(levels):
        limit = gains[0] - 3
        for at in range(1, len(levels)):
            if levels[at] < limit:
                return step * (at - 1 + (levels[at - 1] - limit) / (levels[at - 1] - levels[at]))
        return math.nan
    return reach(gains) + reach([gains[0], *reversed(gains[1:])])


def msi(name, mhz, peak, gains):
    lines = [f"NAME {name}", f"FREQUENCY {mhz}", f"GAIN {peak} dBi"]
    for title, cut in zip(("HORIZONTAL", "VERTICAL"), gains):
        lines.append(f"{title} {len(cut)}")
        lines += [f"{angle} {max(peak - gain, 0.0)}" for angle, gain in enumerate(cut)]
    return "\n".join(lines) + "\n"


def fetch_published():
    """Folder of the example decks, or nothing without network."""
    folder = Path(os.environ["WORK"], "xnec2c")
    examples = folder / "usr/share/doc/xnec2c/examples"
    if not examples.exists():
        folder.mkdir(parents=True, exist_ok=True)
        download = ["apt-get", "download", "-q", "xnec2c"]
        if subprocess.run(download, cwd=folder, capture_output=True).returncode:
            # A fresh machine has no package lists yet.
            subprocess.run(["apt-get", "update", "-q"], capture_output=True)
            subprocess.run(download, cwd=folder, capture_output=True)
        packages = sorted(folder.glob("*.deb"))
        if not packages:
            return None
        subprocess.run(["dpkg", "-x", packages[-1], folder], check=True)
    return examples


decks = {
    "dipole": own_deck(wires([(0.0, 0.48)], 1e-4), 1),
    "yagi-3": own_deck(yagi(0.482, 0.47, [0.442], 0.2), 2),
    "yagi-6": own_deck(yagi(0.482, 0.47, [0.428, 0.420, 0.420, 0.428], 0.25), 2),
}
published = fetch_published()
if published is None:
    print("skip published NEC decks: package xnec2c cannot be fetched")
else:
    decks["log-periodic"] = published_deck(published / "35-55MHz_logper.nec", 46.29)
    decks["yagi-2400"] = published_deck(published / "13cm_Yagi.nec", 2400.0)
    decks["corner-2400"] = published_deck(published / "13cm_corner_reflector.nec", 2400.0)

reproduced = Comparison("pattern files of NEC-2 patterns")
textbook = Comparison("NEC-2 against the published figures of its antennas")
for name, deck in decks.items():
    peak, gains = cuts(deck, 1.0)
    _, fine = cuts(deck, 0.1)
    file = Path(os.environ["WORK"], f"{name}.msi")
    file.write_text(msi(name, deck[1], peak, gains))
    read = dict(line.split() for line in run("ANTENNA", "msi", file).splitlines())
    reproduced.add(float(read["gain_dbi"]), peak, 1e-9, (name, "gain"))
    for plane, cut in zip(("horizontal", "vertical"), fine):
        theirs = width(cut, 0.1)
        if math.isnan(theirs):
            reproduced.equal(read[f"{plane}_width_deg"], "none", (name, plane))
        else:
            reproduced.add(float(read[f"{plane}_width_deg"]), theirs, 0.2, (name, plane))
    print(f"     {name}: {peak:.2f} dBi, {read['horizontal_width_deg']:.6}° x {read['vertical_width_deg']:.6}°")
    if name == "dipole":
        textbook.add(peak, 2.15, 0.05, name)
        textbook.add(float(read["vertical_width_deg"]), 78.0, 1.0, name)
    elif name in ("yagi-3", "yagi-6"):
        textbook.add(peak, {"yagi-3": 7.1, "yagi-6": 10.2}[name] + 2.15, 0.5, name)

finish(reproduced, textbook)
