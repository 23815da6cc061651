"""The tests. No test asserts a wall-clock time, so no example of a property has a deadline either."""

from hypothesis import settings

settings.register_profile("project", deadline=None)
settings.load_profile("project")
