"""What all tests share: Hypothesis runs the same examples everywhere, more with a profile.

``pytest --hypothesis-profile=search`` looks for new counterexamples instead.
"""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("search", derandomize=False, deadline=None)
settings.load_profile("same")
