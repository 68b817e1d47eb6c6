"""Loss, noise and mismatch against general libraries.

pycraf (GPL-3, used here as an installed library only): ITU-R P.525 and P.2109, whose normal quantile it approximates (0.01 dB
of loss; the ITU's own validation values are in radio/tests/data/checks.csv). scikit-rf: reflections. SciPy:
Boltzmann's constant.
"""

import math

from astropy import units as u
from pycraf import conversions, pathprof
from scipy import constants
from skrf.tlineFunctions import zl_2_Gamma0

from reference import Comparison, calc, finish

free_space = Comparison("free-space loss, pycraf")
for f_mhz in (450.0, 850.0, 1900.0, 3500.0, 26000.0):
    for d_km in (0.01, 0.1, 1.0, 30.0):
        loss = -conversions.free_space_loss(d_km * u.km, f_mhz * u.MHz).to_value(conversions.dB)
        free_space.add(calc("free-space", f_mhz=f_mhz, d_km=d_km)["loss_db"], abs(loss), 1e-3, (f_mhz, d_km))

entry = Comparison("building entry loss, pycraf")
kinds = {1: pathprof.BuildingType.TRADITIONAL, 2: pathprof.BuildingType.THERM_EFF}
for kind, building in kinds.items():
    for f_ghz in (0.1, 0.7, 1.9, 3.5, 28.0, 100.0):
        for p in (0.01, 0.1, 0.5, 0.9, 0.99):
            for elevation in (0.0, 30.0):
                theirs = pathprof.building_entry_loss(
                    f_ghz * u.GHz, elevation * u.deg, p * conversions.dimless, building
                ).to_value(conversions.dB)
                ours = calc("entry-loss", f_ghz=f_ghz, p=p, type=kind, elev_deg=elevation)["loss_db"]
                entry.add(ours, theirs.item(), 0.02, (kind, f_ghz, p, elevation))

mismatch = Comparison("mismatch, scikit-rf")
for vswr in (1.05, 1.2, 1.5, 2.0, 3.0, 10.0):
    gamma = abs(zl_2_Gamma0(50.0, 50.0 * vswr).item())
    ours = calc("mismatch", vswr=vswr)
    mismatch.add(ours["return_loss_db"], -20 * math.log10(gamma), 1e-6, (vswr, "return"))
    mismatch.add(ours["mismatch_loss_db"], -10 * math.log10(1 - gamma**2), 1e-6, (vswr, "mismatch"))

noise = Comparison("noise floor, SciPy constants")
for bandwidth in (1.0, 15e3, 180e3, 5e6, 1e8):
    theirs = 10 * math.log10(constants.k * 290.0 * bandwidth / 1e-3) + 6.0
    noise.add(calc("noise-floor", bandwidth_hz=bandwidth, noise_figure_db=6)["noise_dbm"], theirs, 1e-9, bandwidth)

finish(free_space, entry, mismatch, noise)
