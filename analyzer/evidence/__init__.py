"""From a finding back to the exports: the raw cells that it rests on."""

from analyzer.evidence.answer import Evidence, evidence_of

__all__ = ["Evidence", "evidence_of"]
