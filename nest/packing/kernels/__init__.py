"""Compiled inner loops of the engine: integers only for geometry, floats only for money, own random state.

Nothing in here reads a clock, a global random generator or a file. Every function is a pure function of its arguments,
the state of the generator included, so the same arguments give the same layouts on one platform.
"""
