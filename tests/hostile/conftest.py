from tests.hostile.running import runner  # noqa: F401 (a fixture)
