"""Measures a template rendered to a grey PGM: the scale bar and the disc.

usage: measure.py FILE.pgm DOTS_PER_MM; prints the bar and the diameter in mm.
"""
import sys

import numpy

with open(sys.argv[1], "rb") as f:
    magic, size, depth = f.readline(), f.readline().split(), f.readline()
    width, height = int(size[0]), int(size[1])
    ink = numpy.frombuffer(f.read(), dtype=numpy.uint8).reshape(height, width) < 128
dots = float(sys.argv[2])


def longest(row):
    """Length of the longest run of ink in a row."""
    edges = numpy.flatnonzero(numpy.diff(numpy.concatenate(([0], row.view(numpy.int8), [0]))))
    return (edges[1::2] - edges[::2]).max(initial=0)


# The bar: its outline is the longest unbroken line under the title's rule.
runs = numpy.array([longest(r) for r in ink])
body = int(25 * dots)
bar = runs[body:].max() / dots

# The disc: a circle fitted to the outermost ink of each row above the bar,
# leaving out its axes.
top = body
bottom = body + int(numpy.argmax(runs[body:] > 60 * dots))
points = []
for y in range(top, bottom):
    xs = numpy.flatnonzero(ink[y])
    if len(xs) and 15 * dots < xs[-1] - xs[0] < 62 * dots:
        points += [(xs[0], y), (xs[-1], y)]
points = numpy.array(points, dtype=float)
# The caption under the disc is text: keep what lies on one circle.
for _ in range(5):
    a = numpy.column_stack([2 * points, numpy.ones(len(points))])
    fit = numpy.linalg.lstsq(a, (points**2).sum(axis=1), rcond=None)[0]
    radius = numpy.sqrt(fit[2] + fit[0] ** 2 + fit[1] ** 2)
    off = numpy.abs(numpy.hypot(points[:, 0] - fit[0], points[:, 1] - fit[1]) - radius)
    points = points[off <= numpy.percentile(off, 90)]
print(f"{bar:.3f} {2 * radius / dots:.3f}")
