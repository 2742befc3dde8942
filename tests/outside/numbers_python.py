#!/usr/bin/env python3
"""Numbers against Python: reading against float() (correctly rounded), rounding and showing against the decimal module's
ROUND_HALF_EVEN (the General Decimal Arithmetic Specification). All of it once more under a locale with a decimal comma.

Needs: a C compiler (CC, default cc); for the second run localedef and the sources of de_DE (Debian package locales).
"""
import ctypes
import decimal
import locale
import os
import pathlib
import random
import struct
import subprocess
import sys
import tempfile

TOP = pathlib.Path(__file__).resolve().parents[2]


def load(folder):
    """src/base/text.c as a shared library."""
    made = os.path.join(folder, "text.so")
    subprocess.run([*os.environ.get("CC", "cc").split(), "-std=c17", "-O2", "-ffp-contract=off",
                    "-D_POSIX_C_SOURCE=200809L", "-shared", "-fPIC", f"-I{TOP}/src", f"-I{TOP}/src", "-o", made,
                    *(str(next(TOP.glob(f"src/**/{name}.c"))) for name in ("text", "arena")), "-lm"], check=True)
    library = ctypes.CDLL(made)
    library.number_parse.restype = ctypes.c_bool
    library.number_parse.argtypes = [ctypes.c_char_p, ctypes.c_size_t, ctypes.c_char, ctypes.POINTER(ctypes.c_double)]
    library.number_round.restype = ctypes.c_double
    library.number_round.argtypes = [ctypes.c_double, ctypes.c_int]
    library.number_format.restype = ctypes.c_char_p
    library.number_format.argtypes = [ctypes.c_double, ctypes.c_int, ctypes.c_char_p, ctypes.c_size_t]
    return library


def texts(rng):
    """Numbers as loggers, spreadsheets and programs write them, and far beyond."""
    for _ in range(30000):
        yield f"{rng.uniform(-1e4, 1e4):.{rng.randrange(9)}f}"
        yield repr(rng.uniform(-1e3, 1e3))
        yield repr(struct.unpack("<d", rng.randbytes(8))[0])
        digits = "".join(rng.choices("0123456789", k=rng.randrange(1, 40)))
        point = rng.randrange(len(digits) + 1)
        yield f"{digits[:point]}.{digits[point:]}e{rng.randrange(-345, 320)}"


def check_reading(library, rng):
    value = ctypes.c_double()
    count = bad = 0
    for text in texts(rng):
        want = float(text)
        for point in (".", ","):
            written = text.replace(".", point).encode()
            read = library.number_parse(written, len(written), point.encode(), ctypes.byref(value))
            finite = want - want == 0
            same = read == finite and (not finite or struct.pack("<d", value.value) == struct.pack("<d", want))
            count += 1
            bad += not same
            if not same and bad < 5:
                print(f"  {written!r}: {value.value!r}, want {want!r}")
    return count, bad


def check_rounding(library, rng):
    shown = ctypes.create_string_buffer(64)
    count = bad = 0
    for _ in range(60000):
        digits, significant = rng.randrange(2, 13), rng.randrange(1, 8)
        mantissa = rng.randrange(10 ** (digits - 1), 10**digits)
        if rng.random() < 0.5:
            mantissa = mantissa // 10 * 10 + 5  # many exact halves
        exact = decimal.Decimal(rng.choice((-1, 1)) * mantissa).scaleb(-rng.randrange(0, digits + 4))
        want = decimal.Context(prec=significant, rounding=decimal.ROUND_HALF_EVEN).plus(exact)
        text = library.number_format(float(exact), significant, shown, len(shown)).decode()
        plain = "e" not in text
        same = (library.number_round(float(exact), significant) == float(want) and decimal.Decimal(text) == want
                and plain == (decimal.Decimal("1e-4") <= abs(want) < decimal.Decimal("1e9")))
        if plain and want.adjusted() < significant - 1:  # every digit asked for is there, trailing zeros too
            same = same and len(decimal.Decimal(text).as_tuple().digits) == significant
        count += 1
        bad += not same
        if not same and bad < 5:
            print(f"  {exact} to {significant}: {text}, want {want}")
    return count, bad


def comma_locale(folder):
    """Makes and sets a locale whose point is a comma. Returns: True when it could."""
    try:
        subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", os.path.join(folder, "de_DE.UTF-8")], check=True,
                       capture_output=True)
        os.environ["LOCPATH"] = folder
        locale.setlocale(locale.LC_ALL, "de_DE.UTF-8")
    except (OSError, subprocess.CalledProcessError, locale.Error):
        return False
    return locale.localeconv()["decimal_point"] == ","


def main():
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        library = load(folder)
        for place in ("C locale", "decimal-comma locale"):
            if place != "C locale" and not comma_locale(folder):
                print(f"{place}: could not be made, skipped")
                continue
            rng = random.Random(2718281828)
            for what, check in (("reading", check_reading), ("rounding", check_rounding)):
                count, bad = check(library, rng)
                failed += bad
                print(f"{what}, {place}: {count} numbers, {bad} differ")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
