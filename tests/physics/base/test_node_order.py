"""The order of a mesh's nodes: each node once, and factors about as small as a general order's."""

import numpy as np
import pytest
from scipy.sparse.linalg import splu

from coilgen.physics.base.node_order import dissected
from coilgen.physics.metal.meridian_elements import Meridian, everywhere, gradient_matrix


@pytest.mark.parametrize("shape", [(1, 1), (3, 7), (9, 5), (41, 63), (7, 203)])
def test_each_node_comes_once(shape):
    nodes = np.arange(shape[0] * shape[1]).reshape(shape)
    assert sorted(dissected(nodes)) == nodes.ravel().tolist()


def test_factors_are_as_small_as_in_an_order_sought_for_the_matrix():
    mesh = Meridian(r=np.linspace(0.0, 1.0, 41), z=np.linspace(-1.0, 1.0, 61))
    shape = (len(mesh.node_r), len(mesh.node_z))
    whole = gradient_matrix(mesh, everywhere(mesh))
    inside = np.arange(shape[0] * shape[1]).reshape(shape)[1:-1, 1:-1]

    def entries(free, order):
        held = whole[free][:, free].tocsc()
        options = {"SymmetricMode": True}
        return splu(held, permc_spec=order, diag_pivot_thresh=0.0, options=options).L.nnz

    sought = entries(inside.ravel(), "MMD_AT_PLUS_A")
    assert entries(dissected(inside), "NATURAL") < 1.2 * sought
    assert entries(inside.ravel(), "NATURAL") > 1.5 * sought
