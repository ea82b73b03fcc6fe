"""The option engine: exactly what is possible, why not, and the best fix.

:mod:`~configurator.engine.encoding` turns choices into clauses,
:mod:`~configurator.engine.constraint` says what a selection has to keep,
:mod:`~configurator.engine.search` asks a SAT solver for selections until one keeps all of it, and
:mod:`~configurator.engine.availability` tells with it what can still be had; the other questions
have a module each.
"""
