"""What all solvers stand on: constants, conductors as arrays, compiled kernels, roots, special functions."""
