"""What the schema of every stored file says of it."""

FORMAT_KEY = b"trendwright.format"
ZONE_KEY = b"trendwright.time_zone"
LOGGING_KEY = b"trendwright.logging"
