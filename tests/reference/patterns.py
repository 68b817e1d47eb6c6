"""Antenna patterns of ITU-R F.699, F.1336 and 3GPP against pycraf (GPL-3, used here as an installed library only).

Left out, where pycraf 2.1.0 is not continuous and so cannot be right: F.699 for D/lambda up to 100 above 1 GHz, where
it starts the skirt too early and ends it 20 dB too low (the same formulas below 1 GHz, up to 48 degrees, serve
instead); and F.1336 peak side lobes beyond four beamwidths in elevation, where it leaves k_v out of the slope factor C (its average
pattern has k_v and agrees everywhere).
"""

from astropy import units as u
from pycraf import antenna, conversions

from reference import Comparison, calc, finish, run

ANGLES = [0.0, 0.5, 1.0, 3.0, 7.0, 12.0, 20.0, 33.0, 47.0, 49.0, 90.0, 179.0]


def values(*arguments):
    return [float(line) for line in run("ANTENNA", *arguments).split()]


dish = Comparison("dish, F.699")
for diameter in (3.0, 10.0, 60.0, 150.0, 1000.0):
    wavelength, angles = (0.1, ANGLES) if diameter > 100 else (1.0, [angle for angle in ANGLES if angle < 48])
    peak = values("dish", diameter, 0)[0] * conversions.dBi
    theirs = antenna.fl_pattern(angles * u.deg, diameter * wavelength * u.m, wavelength * u.m, peak)
    for angle, ours, reference in zip(angles, values("dish", diameter, *angles), theirs.to_value(conversions.dBi)):
        dish.add(ours, reference, 1e-6, (diameter, angle))

PATTERNS = {
    "peak": antenna.imt_advanced_sectoral_peak_sidelobe_pattern_400_to_6000_mhz,
    "average": antenna.imt_advanced_sectoral_avg_sidelobe_pattern_400_to_6000_mhz,
}
sector = Comparison("sector antenna, F.1336")
for side_lobes, reference in PATTERNS.items():
    for quality, (k_h, k_v) in {"typical": (0.8, 0.7), "improved": (0.7, 0.3)}.items():
        for gain, width in ((17.0, 65.0), (15.0, 90.0), (18.0, 33.0)):
            height = 31000 * 10 ** (-0.1 * gain) / width
            directions = [(a, e) for a in (0.0, 20.0, 60.0, 120.0, 180.0) for e in (-40.0, -5.0, 0.0, 3.0, 15.0, 80.0)]
            if side_lobes == "peak":
                directions = [(a, e) for a, e in directions if abs(e) < 4 * height]
            pairs = [f"{a},{e}" for a, e in directions]
            for (azimuth, elevation), ours in zip(directions, values("sector", gain, width, side_lobes, quality, *pairs)):
                theirs = reference(
                    azimuth * u.deg, elevation * u.deg, gain * conversions.dBi, width * u.deg, height * u.deg,
                    0.7 * conversions.dimless, k_h * conversions.dimless, k_v * conversions.dimless,
                    0 * u.deg, 0 * u.deg,
                ).to_value(conversions.dB)
                sector.add(ours, float(theirs), 1e-6, (side_lobes, quality, gain, width, azimuth, elevation))

element = Comparison("element, 3GPP")
directions = [(a, e) for a in (0.0, 20.0, 65.0, 100.0, 180.0) for e in (-60.0, 0.0, 10.0, 45.0)]
for (azimuth, elevation), ours in zip(directions, values("element", *[f"{a},{e}" for a, e in directions])):
    theirs = antenna.imt2020_single_element_pattern(
        azimuth * u.deg, elevation * u.deg, 8 * conversions.dBi, 30 * conversions.dB, 30 * conversions.dB,
        65 * u.deg, 65 * u.deg,
    ).to_value(conversions.dB)
    element.add(ours, float(theirs), 1e-9, (azimuth, elevation))
for azimuth in ANGLES:
    ours = calc("pattern", phi_deg=azimuth, phi3_deg=65, am_db=30)["gain_db"]
    element.add(ours, -min(12 * (azimuth / 65) ** 2, 30), 1e-9, azimuth)

finish(dish, sector, element)
