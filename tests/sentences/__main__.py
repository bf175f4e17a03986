"""python -m tests.sentences [PART ...]: precision and recall of the reader of sentences, by part (scoring.PARTS)."""

import sys

from tests.sentences.scoring import PARTS, report

for part in sys.argv[1:] or PARTS:
    print(report(part))
