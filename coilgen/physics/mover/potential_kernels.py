"""Compiled sums over the walls of magnets, for very many points."""

import math

from coilgen.physics.base.compiled import kernel


@kernel
def add_potential(points, at, along, near, far, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Adds the potential over the polarisation to out[first:last]."""
    for n in range(first, last):
        px, py = points[n, 0], points[n, 1]
        ax, ay = 0.0, 0.0
        for k in range(at.shape[0]):
            x, y = px - at[k, 0], py - at[k, 1]
            square = x * x + y * y
            above, below = 1.0, 1.0
            for s in range(far.size):
                above *= far[s] + math.sqrt(square + far[s] * far[s])
            for s in range(near.size):
                below *= near[s] + math.sqrt(square + near[s] * near[s])
            value = math.log(above / below)
            ax += value * along[k, 0]
            ay += value * along[k, 1]
        out[n, 0] += ax / (4.0 * math.pi)
        out[n, 1] += ay / (4.0 * math.pi)


@kernel
def add_upward(points, at, along, near, far, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Adds the flux density along z over the polarisation to out[first:last]."""
    for n in range(first, last):
        px, py = points[n, 0], points[n, 1]
        total = 0.0
        for k in range(at.shape[0]):
            x, y = px - at[k, 0], py - at[k, 1]
            square = x * x + y * y
            slope = 0.0
            for s in range(near.size):
                a, b = near[s], far[s]
                slope += a / math.sqrt(square + a * a) - b / math.sqrt(square + b * b)
            total += slope / square * (x * along[k, 1] - y * along[k, 0])
        out[n] += total / (4.0 * math.pi)


@kernel
def add_of_ends(points, at, along, rises, charges, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Adds the potential over the magnetisation to out[first:last]; rises: to end faces with charges."""
    for n in range(first, last):
        px, py = points[n, 0], points[n, 1]
        total = 0.0
        for s in range(rises.size):
            rise = abs(rises[s])
            edges = 0.0
            for k in range(at.shape[0]):
                x, y = at[k, 0] - px, at[k, 1] - py
                turned = x * along[k, 1] - y * along[k, 0]
                edges += turned / (math.sqrt(x * x + y * y + rise * rise) + rise)
            total += charges[s] * edges
        out[n] += total / (4.0 * math.pi)
