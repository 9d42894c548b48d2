"""Change notes by rule: what every rule judges by, and where ``CHANGELOG.md`` told of it last."""
