"""How Hypothesis draws in these tests: the same cases every time, on however busy a machine."""

from hypothesis import HealthCheck, settings

STEADY = settings(
    max_examples=100,
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
