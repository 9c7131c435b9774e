# SPDX-License-Identifier: MIT
"""The library from Python: arrays of numpy in, masses out.

    python3 embed.py [libcountermass.so]
"""
import ctypes
import sys
import numpy as np

lib = ctypes.CDLL(sys.argv[1] if len(sys.argv) > 1 else "libcountermass.so.0.1")
P, C, D, I, Z = ctypes.c_void_p, ctypes.c_char_p, ctypes.c_double, ctypes.c_int, ctypes.c_size_t


class Problem(ctypes.Structure):
    """cm_problem, field by field as in solve.h up to the last one needed; `size` tells the library where it ends."""
    _fields_ = [("size", Z), ("objective", I), ("rows", I), ("planes", I), ("blocks", I), ("block", P), ("y", P),
                ("a", P), ("weight", P), ("limit", P), ("base", P), ("now", P), ("held", P), ("held_value", P),
                ("disc_count", I), ("discs", P), ("tie_count", I), ("ties", P), ("tie_value", P),
                ("pair_count", I), ("pairs", P), ("within_limits", I), ("influence_error", D), ("spread", P),
                ("determined", P), ("mass_unit", D), ("mass_zero", D)]


class Answer(ctypes.Structure):
    """The beginning of cm_answer."""
    _fields_ = [("size", Z), ("outcome", I), ("value", D), ("bound", D), ("gap", D),
                ("x", ctypes.POINTER(D)), ("r", ctypes.POINTER(D))]


class Message(ctypes.Structure):
    _fields_ = [("severity", I), ("text", C), ("file", C), ("line", I), ("column", I)]


lib.cm_version.restype = C
lib.cm_open.restype = P
lib.cm_open.argtypes = lib.cm_close.argtypes = [P]
lib.cm_close.restype = None
lib.cm_message_count.argtypes = [P]
lib.cm_message_at.restype = ctypes.POINTER(Message)
lib.cm_message_at.argtypes = [P, I]
lib.cm_solve.argtypes = [P, ctypes.POINTER(Problem), ctypes.POINTER(ctypes.POINTER(Answer))]


def solve(a, y, weight, caps, objective):
    """Masses that bring y + a x down; a: rows × planes. Objectives count as in solve.h: 0 least squares, 1 min-max."""
    rows, planes = a.shape
    discs = np.zeros(planes, [("plane", "i4"), ("gap", "i4"), ("centre", "c16"), ("radius", "f8")])
    discs["plane"], discs["radius"] = np.arange(planes), caps
    arrays = dict(y=np.asarray(y, "c16"), a=np.asfortranarray(a, "c16"), weight=np.asarray(weight, "f8"),
                  limit=np.full(rows, np.inf), block=np.zeros(rows, "i4"), base=np.zeros(planes, "c16"),
                  now=np.zeros(planes, "c16"), held=np.zeros(planes, "u1"), held_value=np.zeros(planes, "c16"),
                  discs=discs)
    problem = Problem(size=ctypes.sizeof(Problem), objective=objective, rows=rows, planes=planes, blocks=1,
                      disc_count=planes, mass_unit=1, mass_zero=1e-9, **{k: v.ctypes.data for k, v in arrays.items()})
    session = lib.cm_open(None)
    if not session:
        raise MemoryError
    try:
        answer = ctypes.POINTER(Answer)()
        if lib.cm_solve(session, problem, answer) != 0:
            raise ValueError([lib.cm_message_at(session, i)[0].text.decode()
                              for i in range(lib.cm_message_count(session))])
        x = np.ctypeslib.as_array(answer[0].x, (2 * planes,)).view("c16").copy()  # the original goes with the session
        return x, answer[0].value, answer[0].bound
    finally:
        lib.cm_close(session)


def main():
    rng = np.random.RandomState(3)
    a = rng.normal(size=(8, 3)) + 1j * rng.normal(size=(8, 3))
    y = 20 * (rng.normal(size=8) + 1j * rng.normal(size=8))
    free, value, bound = solve(a, y, np.ones(8), np.inf, 0)
    expected = -np.linalg.lstsq(a, y, rcond=None)[0]
    worst, most, least = solve(a, y, np.ones(8), 5, 1)
    print("library", lib.cm_version().decode())
    print("least squares:", np.round(free, 3), "value", round(value, 6), "bound", round(bound, 6))
    print("min-max, at most 5 on each plane:", np.round(worst, 3), "value", round(most, 6), "bound", round(least, 6))
    assert np.allclose(free, expected, rtol=0, atol=1e-9) and abs(np.linalg.norm(y + a @ free) - value) < 1e-9
    assert np.all(abs(worst) <= 5 * (1 + 1e-9)) and abs(max(abs(y + a @ worst)) - most) < 1e-9
    assert bound <= value * (1 + 1e-12) and least <= most * (1 + 1e-12)


main()
