"""Measurements that print ratios; run by hand, never timed tests.

``python -m tests.benchmarks`` runs all of them, ``python -m tests.benchmarks.startup`` one.
"""
