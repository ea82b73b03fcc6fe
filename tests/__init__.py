"""The tests: each name is a sentence that must be true."""

import pytest

pytest.register_assert_rewrite("tests.support")
