"""A jointed figure of our own, drawn for the invented academy.

`posture` and `faults` say how it stands, `body` where its joints are, `drawing` what is seen of it from one view.
Pure: lengths in centimetres, angles in degrees, no Pillow here.
"""
