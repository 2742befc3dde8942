"""Water and site against python3-iapws (IAPWS-97 and IAPWS-95), python3-fluids and WGS 84."""
import math
import sys

from fluids import ATMOSPHERE_1976
from iapws import IAPWS95
from iapws._iapws import _Viscosity
from iapws.iapws97 import _PSat_T, _Region1

sys.dont_write_bytecode = True  # the tree stays as it was
from probing import compare, finish, probe

temperatures = [0.0, 0.01, 1.0, 3.98, 4.0] + [7.3 * i for i in range(1, 14)] + [99.9, 100.0]
pressures = [101325.0 * 1.001, 2.5e5, 1e6, 4.2e6, 1e7, 1e8]
grid = [(t, p) for t in temperatures for p in pressures]

density = probe("water_density", grid)
compare("density, IAPWS-97 region 1", density, [1 / _Region1(t + 273.15, p / 1e6)["v"] for t, p in grid], 1e-13, "the same equation")
some = grid[::7]
compare("density, IAPWS-95", density[::7], [IAPWS95(T=t + 273.15, P=p / 1e6).rho for t, p in some], 3e-5,
        "R7-97 states 0.003 % of v for liquid water")
compare("viscosity, R12-08", probe("water_viscosity", grid),
        [_Viscosity(1 / _Region1(t + 273.15, p / 1e6)["v"], t + 273.15) for t, p in grid], 1e-12, "the same equation")
compare("vapour pressure, IAPWS-97", probe("water_vapour_pressure", [(t,) for t in temperatures]),
        [_PSat_T(t + 273.15) * 1e6 for t in temperatures], 1e-12, "the same equation")

altitudes = list(range(-500, 9001, 250))
compare("air pressure, Standard Atmosphere 1976", probe("site_air_pressure", [(z,) for z in altitudes]),
        [ATMOSPHERE_1976(z).P for z in altitudes], 1e-6, "the gas constants differ in the sixth figure")


def wgs84(latitude, altitude):
    """Somigliana's formula of WGS 84 (NIMA TR8350.2), with the free-air gradient."""
    s = math.sin(latitude) ** 2
    return 9.7803253359 * (1 + 0.00193185265241 * s) / math.sqrt(1 - 0.00669437999013 * s) - 3.086e-6 * altitude


places = [(math.radians(d), z) for d in range(-90, 91, 5) for z in (0, 500, 2000, 4000)]
compare("gravity, WGS 84", probe("site_gravity", places), [wgs84(*p) for p in places], 5e-5,
        "the standard's formula has five figures")
finish()
