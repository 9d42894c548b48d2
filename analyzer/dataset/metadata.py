"""What the schema of every stored file says of it."""

FORMAT_KEY = b"trendwright.format"
ZONE_KEY = b"trendwright.time_zone"
LOGGING_KEY = b"trendwright.logging"
# How many rows the air handlers' table has that belongs to this one; earlier releases did not say.
AIR_HANDLERS_KEY = b"trendwright.air_handlers"
