"""Two pictures at one scale: the similarity transform, by hand and beside least squares of numpy."""

import re

import numpy as np
import pytest

from coachbook.loop.stills.beside.align import CannotAlign, Similarity, align, check, fit, mirror, pixels


def test_by_hand() -> None:
    # Twice as far apart and a quarter turn: (0, 0) to (10, 10), and (3, 0) to (10, 16).
    found = align([0, 3], onto=[10 + 10j, 10 + 16j])
    assert (found.factor, found.shift, found.scale) == (2j, 10 + 10j, 2)
    assert found(1 + 1j) == 8 + 12j  # one across is two down, one down is two to the left
    assert found.matrix == "matrix(0 2 -2 0 10 10)"


def test_it_is_the_solution_of_the_four_equations() -> None:
    """For four unknowns (a, b, e, f of SVG 1.1, 7.6) two pairs of points give four linear equations."""
    for seed in range(50):
        rng = np.random.default_rng(seed)
        p, q, u, v = (complex(*rng.uniform(0, 1600, 2)) for _ in range(4))
        rows, right = [], []
        for point, onto in ((p, u), (q, v)):
            rows += [[point.real, -point.imag, 1, 0], [point.imag, point.real, 0, 1]]
            right += [onto.real, onto.imag]
        a, b, e, f = np.linalg.solve(np.array(rows), np.array(right))
        found = align([p, q], onto=[u, v])
        assert found.factor == pytest.approx(complex(a, b)) and found.shift == pytest.approx(complex(e, f))
        written = [float(number) for number in re.findall(r"[-\d.e]+", found.matrix[7:-1])]
        # What SVG makes of it: the point lands within a hundredth of a pixel.
        across = written[0] * p.real + written[2] * p.imag + written[4]
        down = written[1] * p.real + written[3] * p.imag + written[5]
        assert abs(complex(across, down) - u) < 0.01


def test_points_that_are_too_close_or_cannot_be_the_same_are_refused() -> None:
    size = (1200, 1600)
    near, far = pixels([[50, 50], [51, 51]], size), pixels([[10, 10], [90, 90]], size)
    some = pixels([[50, 50], [56, 56]], size)
    for points, onto, words in (
        (near, far, "too close"),
        (far, near, "too close"),
        (far, [far[0], far[0]], "too close"),
        (some, far, "four times"),
        (far, some, "four times"),
    ):
        with pytest.raises(CannotAlign, match=words):
            check(points, size, onto, size)
    check(far, size, far, size)
    check(far, size, [point / 5 for point in far], (240, 320))  # a small picture of the same is as good


def test_a_whole_picture_in_a_frame_of_another_shape_and_a_mirror() -> None:
    found = fit((1600, 1200), (1200, 1600))
    assert found.scale == 0.75 and found(0) == 350j and found(1600 + 1200j) == 1200 + 1250j
    assert fit((300, 400), (1200, 1600)) == Similarity(4, 0)
    a, b, c, d, e, f = map(float, mirror((1200, 1600))[7:-1].split())
    across, down = 100, 700  # 100 from the left is 100 from the right
    assert (a * across + c * down + e, b * across + d * down + f) == (1100, 700)
