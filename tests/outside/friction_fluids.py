"""Friction factor against python3-fluids' closed solution of Colebrook's equation."""
import sys

from fluids.friction import Colebrook

sys.dont_write_bytecode = True  # the tree stays as it was
from probing import compare, finish, probe

rows = [(reynolds, roughness)
        for reynolds in (2300.0, 3.1e3, 1e4, 7.7e4, 3e5, 1.9e6, 1e8)
        for roughness in (0.0, 1e-6, 2.3e-4, 1e-3, 0.0117, 0.05)]
compare("friction factor, Colebrook-White", probe("pipe_friction_factor", rows),
        [Colebrook(re, k, tol=1e-14) for re, k in rows], 2e-12, "1/sqrt(f) to 1e-12, as promised")
laminar = [(10.0, 0.0), (640.0, 0.01), (2299.0, 0.05)]
compare("friction factor, laminar", probe("pipe_friction_factor", laminar), [64 / re for re, _ in laminar], 1e-15, "64/Re")
finish()
