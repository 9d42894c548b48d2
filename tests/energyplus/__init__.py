"""Independent evidence: a building simulated by EnergyPlus, its faults injected there; ``python -m tests.energyplus``."""
