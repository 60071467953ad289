"""Settings for all tests."""

from hypothesis import settings

# Laws are held to the same examples in every run, so that a run which passed passes again.
# To look for new examples: pytest --hypothesis-profile=explore
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("explore", deadline=None, max_examples=1000, print_blob=True)
settings.load_profile("repeatable")
