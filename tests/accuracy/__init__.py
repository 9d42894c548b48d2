"""How often the rule book is right: simulated weeks whose faults are known, judged; ``python -m tests.accuracy``."""
