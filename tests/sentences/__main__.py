"""python -m tests.sentences [open|sealed]: precision and recall of the reader of sentences."""

import sys

from tests.sentences.scoring import report

for part in sys.argv[1:] or ("open", "sealed"):
    print(report(part))
