"""The same reduction as a good Python user would write it: pandas reads the record, numpy reduces each point.

Prints, for every point and channel, n, mean, standard deviation, low, high and the standard error of the mean from one-second
block means and their lag-1 autocorrelation (Kendall 1954), in SI units, and the file's SHA-256.
"""
import hashlib
import sys

import numpy as np
import pandas as pd

SI = {"m3/h": 1 / 3600, "kPa": 1e3, "m": 1.0, "V": 1.0, "A": 1.0, "kW": 1e3, "Hz": 1.0}


def standard_error(values, block):
    """Of the mean of correlated values; block numbers the second that each belongs to, rising."""
    n = len(values)
    plain = values.var(ddof=1) / n
    starts = np.flatnonzero(np.r_[True, np.diff(block) > 0])
    means = np.add.reduceat(values, starts) / np.diff(np.r_[starts, n])
    count = len(means)
    if count < 6:
        return np.sqrt(plain)
    d = means - values.mean()
    squares = d @ d
    if squares == 0:
        return np.sqrt(plain)
    r = (count * (d[:-1] @ d[1:]) / squares + 1) / (count - 4)
    r = min(max(r, 0.0), 0.95)
    inflation = (1 + r) / (1 - r)
    return np.sqrt(max(plain, squares / count * inflation / max(count - inflation, 1.0)))


def main(path):
    with open(path, "rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    record = pd.read_csv(path, comment="#")
    print("sha256", digest)
    second = np.floor(record["time [s]"].to_numpy() + 1e-6)
    for number, rows in record[record["point"] > 0].groupby("point"):
        block = second[rows.index]
        for heading in record.columns[2:]:
            name, unit = heading.rstrip("]").split(" [")
            values = rows[heading].to_numpy() * SI[unit]
            print(f"{number},{name},{len(values)},{values.mean():.9g},{values.std(ddof=1):.9g},"
                  f"{values.min():.9g},{values.max():.9g},{standard_error(values, block):.9g}")


main(sys.argv[1])
