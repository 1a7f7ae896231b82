"""Heat in the cross-section of a long strip with leads, by finite differences."""

from itertools import pairwise

import numpy as np
from scipy.sparse import coo_array, diags_array
from scipy.sparse.linalg import splu, spsolve


class Section:
    """Strip of a width and thickness, m, with films of h W/(m² K) on both faces.

    leads: left and right edge of each, m; depths: under the top, m. Conductivities across and through.
    """

    def __init__(self, width, leads, depths, thickness, laminate, h, *, cell, across=10e-6):
        edges = sorted({-width / 2, width / 2, *[edge for lead in leads for edge in lead]})
        spans = [np.linspace(a, b, max(4, round((b - a) / across)) + 1)[1:] for a, b in pairwise(edges)]
        self.x = np.concatenate([[edges[0]], *spans])
        rows, columns = round(thickness / cell) + 1, len(self.x)
        number = np.arange(rows * columns).reshape(rows, columns)
        tall = np.full(rows, cell)
        tall[[0, -1]] /= 2
        wide = (np.append(np.diff(self.x), 0.0) + np.append(0.0, np.diff(self.x))) / 2
        joints = [
            (number[:, :-1], number[:, 1:], laminate.conductivity_in_plane * tall[:, None] / np.diff(self.x)),
            (number[:-1], number[1:], laminate.conductivity * wide / cell + np.zeros((rows - 1, 1))),
        ]
        self.leads = []
        for (left, right), depth in zip(leads, depths, strict=True):
            row = number[round(depth / cell)]
            on = row[(self.x > left - 1e-12) & (self.x < right + 1e-12)]
            joints.append((on[:-1], on[1:], np.full(len(on) - 1, 1e3)))
            self.leads.append(on)
        one, other, g = (np.concatenate([each[k].ravel() for each in joints]) for k in range(3))
        graph = coo_array((g, (one, other)), shape=(number.size,) * 2).tocsr()
        graph = graph + graph.T
        loss = np.zeros((rows, columns))
        loss[[0, -1]] = h * wide
        self.matrix = (diags_array(np.asarray(graph.sum(axis=1)).ravel() + loss.ravel()) - graph).tocsc()
        self.volume = np.outer(tall, wide).ravel()

    def made(self, heat):
        whole = np.zeros(self.matrix.shape[0])
        for on in self.leads:
            whole[on] += heat / len(on)
        return whole

    def settled(self, heat):
        """Largest rise, K, where each lead makes a heat, W/m."""
        return spsolve(self.matrix, self.made(heat)).max()

    def after(self, heat, time, laminate, copper, steps=60):
        """Largest rise, K, after a time, s; copper: heat capacity of each lead, J/(m K)."""
        capacity = self.volume * laminate.density * laminate.heat_capacity
        for on in self.leads:
            capacity[on] += copper / len(on)
        step = time / steps
        system, rise = splu((diags_array(capacity / step) + self.matrix).tocsc()), np.zeros(len(capacity))
        for _ in range(steps):
            rise = system.solve(capacity / step * rise + self.made(heat))
        return rise.max()
