"""The rule book and the engine that judges every terminal by it."""
