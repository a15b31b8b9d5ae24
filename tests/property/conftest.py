"""What property tests share: they are not timed, for a busy machine is no fault of the code."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
