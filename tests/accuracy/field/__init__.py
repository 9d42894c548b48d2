"""How often the rule book is right on trends that look like those of real buildings (``sample_trends.field``)."""
