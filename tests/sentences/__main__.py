"""python -m tests.sentences [PART ...]: precision and recall of the reader of sentences, by part (scoring.PARTS).

With --keep: also keeps, of the parts that are tuned, which sentences are read right; none of them may be lost again.
"""

import json
import sys

from tests.sentences.scoring import PARTS, READ_RIGHT, TUNED, read_right, report

for part in [word for word in sys.argv[1:] if word != "--keep"] or PARTS:
    print(report(part))
if "--keep" in sys.argv:
    READ_RIGHT.write_text(json.dumps({part: read_right(part) for part in TUNED}) + "\n", encoding="utf-8")
