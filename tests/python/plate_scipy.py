"""The bed by general tools: SciPy's sparse solver for the plate, HiGHS for the contact."""

import highspy
import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

import truebed


def hermite(at: float, derivative: int) -> np.ndarray:
    """The four cubics of an element of length 1, or a derivative of theirs."""
    cubics = np.array([[1, 0, -3, 2], [0, 1, -2, 1], [0, 0, 3, -2], [0, 0, -1, 1]], dtype=float)
    return np.array([np.polynomial.Polynomial(row).deriv(derivative)(at) if derivative
                     else np.polynomial.Polynomial(row)(at) for row in cubics])


def line_matrix(count: int, size: float, first: int, second: int) -> sp.csr_matrix:
    """Integrals of products of derivatives along one direction, by Gauss's rule."""
    points, weights = np.polynomial.legendre.leggauss(4)
    element = sum(
        0.5 * w * size * np.outer(hermite(0.5 + 0.5 * p, first), hermite(0.5 + 0.5 * p, second))
        for p, w in zip(points, weights)
    ) / size ** (first + second)
    matrix = sp.lil_matrix((2 * count + 2, 2 * count + 2))
    for at in range(count):
        matrix[2 * at : 2 * at + 4, 2 * at : 2 * at + 4] += element
    return matrix.tocsr()


def plate(slab: truebed.Slab, elements: tuple[int, int]) -> tuple[sp.csc_matrix, object, np.ndarray]:
    """The whole plate's stiffness, a maker of rows for its height, and its weight's row."""
    nu = slab.nu
    stiffness = 1e3 * slab.e_gpa * slab.thickness**3 / 12 / (1 - nu**2)
    sizes = [(ends[1] - ends[0]) / n for ends, n in zip((slab.x, slab.y), elements)]
    of = [
        {(a, b): line_matrix(n, h, a, b) for a, b in [(0, 0), (1, 1), (2, 2), (2, 0), (0, 2)]}
        for n, h in zip(elements, sizes)
    ]
    x, y = of
    whole = stiffness * (
        sp.kron(x[2, 2], y[0, 0]) + sp.kron(x[0, 0], y[2, 2])
        + nu * (sp.kron(x[2, 0], y[0, 2]) + sp.kron(x[0, 2], y[2, 0]))
        + 2 * (1 - nu) * sp.kron(x[1, 1], y[1, 1])
    )

    def row(place: np.ndarray) -> np.ndarray:
        rows = []
        for at, start, n, h in zip(place, (slab.x[0], slab.y[0]), elements, sizes):
            element = min(int((at - start) / h), n - 1)
            row = np.zeros(2 * n + 2)
            row[2 * element : 2 * element + 4] = hermite((at - start) / h - element, 0)
            rows.append(row)
        return np.kron(*rows)

    def mean(n: int) -> np.ndarray:
        row = np.zeros(2 * n + 2)
        for at in range(n):
            row[2 * at : 2 * at + 4] += np.array([1 / 2, 1 / 12, 1 / 2, -1 / 12]) / n
        return row

    return whole.tocsc(), row, np.kron(*map(mean, elements))


def condensed(
    slab: truebed.Slab, xy: np.ndarray, elements: tuple[int, int]
) -> tuple[np.ndarray, np.ndarray]:
    """Compliance of the plate at the supports and its sag there: SciPy's LU of the plate, held at three
    corners."""
    whole, row, weight = plate(slab, elements)
    rows = np.array([row(place) for place in xy])
    corners = np.array([row(np.array(place)) for place in
                        [(slab.x[0], slab.y[0]), (slab.x[1], slab.y[0]), (slab.x[0], slab.y[1])]])
    size = whole.shape[0]
    held = sp.bmat([[whole, corners.T], [corners, None]]).tocsc()
    right = np.zeros((size + 3, len(xy) + 1))
    right[:size, :-1], right[:size, -1] = rows.T, weight * slab.weight_n
    solved = splu(held).solve(right)[:size]
    return rows @ solved[:, :-1], rows @ solved[:, -1]


def contact(
    slab: truebed.Slab, xy: np.ndarray, tops: np.ndarray, compliance: np.ndarray, sag: np.ndarray
) -> np.ndarray:
    """The forces, by HiGHS."""
    middle = np.array([(slab.x[0] + slab.x[1]) / 2, (slab.y[0] + slab.y[1]) / 2])
    # Least ½ fᵀ C f − (d + t)ᵀ f with f ≥ 0, in equilibrium.
    n = len(xy)
    highs = highspy.Highs()
    highs.setOptionValue("output_flag", False)
    for at in range(n):
        highs.addCol(-(sag[at] + tops[at]), 0.0, highspy.kHighsInf, 0, [], [])
    for by, total in [(np.ones(n), 1.0), (xy[:, 0], middle[0]), (xy[:, 1], middle[1])]:
        highs.addRow(total * slab.weight_n, total * slab.weight_n, n, np.arange(n), by)
    hessian = highspy.HighsHessian()
    hessian.dim_ = n
    lower = np.tril(compliance + 1e-12 * np.eye(n) * compliance.max())
    hessian.start_ = np.cumsum([0, *range(n, 0, -1)])
    hessian.index_ = np.concatenate([np.arange(at, n) for at in range(n)])
    hessian.value_ = np.concatenate([lower[at:, at] for at in range(n)])
    highs.passHessian(hessian)
    highs.run()
    return np.array(highs.getSolution().col_value)


def borne(
    slab: truebed.Slab, xy: np.ndarray, tops: np.ndarray, elements: tuple[int, int]
) -> np.ndarray:
    """The forces of the supports."""
    return contact(slab, xy, tops, *condensed(slab, xy, elements))
