"""python -m tests.sentences [open|tuning|checking|third-tuning|unread|sealed]: precision and recall of the reader of sentences."""

import sys

from tests.sentences.scoring import PARTS, report

for part in sys.argv[1:] or PARTS:
    print(report(part))
