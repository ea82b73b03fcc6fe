"""The option engine: exactly what is possible, why not, and the best way out.

:mod:`~configurator.engine.encoding` turns choices and rules into clauses,
:mod:`~configurator.engine.theories` guards limits and fit, :mod:`~configurator.engine.search`
asks a SAT solver for selections until one pleases every theory, and
:mod:`~configurator.engine.availability` tells with it what can still be had; the other questions
have a module each.
"""
