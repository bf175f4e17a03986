"""Corrections, and the changes that wait for a second person."""

from coachbook.corrections.models.approval import WAIT, ApprovalNotice, ApprovalRequest, ApprovalRequestQuerySet
from coachbook.corrections.models.correction import UNDO_PERIOD, Correction, CorrectionQuerySet

__all__ = [
    "UNDO_PERIOD",
    "WAIT",
    "ApprovalNotice",
    "ApprovalRequest",
    "ApprovalRequestQuerySet",
    "Correction",
    "CorrectionQuerySet",
]
