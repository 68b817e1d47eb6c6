"""Channel numbers and bands of LTE and NR against the library nrarfcn (tables of release 19)."""

import nrarfcn

from reference import Comparison, calc, finish

RELEASE = 19


def ends(lookup, band, direction):
    """First and last number of a band, or nothing where the library has none."""
    try:
        first, last = lookup(band, direction, RELEASE)
    except ValueError:
        return None
    return (first, last) if isinstance(first, int) else None


lte = Comparison("LTE bands and EARFCN, nrarfcn")
nr = Comparison("NR bands and NR-ARFCN, nrarfcn")
for number in range(1, 115):
    for direction in ("dl", "ul"):
        span = ends(nrarfcn.get_lte_earfcn_range, f"B{number}", direction)
        for earfcn in () if span is None else (span[0], sum(span) // 2, span[1]):
            ours, where = calc("channel", earfcn=earfcn), (number, direction, earfcn)
            lte.equal(ours["band"], number, where)
            lte.add(ours["f_mhz"], nrarfcn.get_frequency_by_lte_earfcn(earfcn, RELEASE), 1e-6, where)
        span = ends(nrarfcn.get_nrarfcn_range, f"n{number}", direction)
        for arfcn in () if span is None else span:
            ours, where = calc("channel", nr_arfcn=arfcn), (number, direction, arfcn)
            nr.equal(f"n{number}" in ours["bands"], True, where)
            nr.add(ours["f_mhz"], nrarfcn.get_frequency(arfcn, RELEASE), 1e-6, where)
for arfcn in (0, 1, 599999, 600000, 2016666, 2016667, 3279165):
    nr.add(calc("channel", nr_arfcn=arfcn)["f_mhz"], nrarfcn.get_frequency(arfcn, RELEASE), 1e-6, arfcn)

finish(lte, nr)
