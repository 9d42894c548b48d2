"""Verdicts turned into findings: severity, impact, evidence in words, what to do next."""
