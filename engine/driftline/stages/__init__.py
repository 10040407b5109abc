"""HOW a picture is made: one pure array function a file, in plain numpy, as the reference.

Owns the arithmetic of every stage from mosaic to output RGB. Knows nothing of recipes, files or git:
settings come as keyword arguments, arrays are float32 and never written to. A stage at its default
settings is the identity (the standing curve and gamut mapping, which have no settings of the
photographer's, are not). Read :func:`driftline.stages.curve.curve` and
:func:`driftline.stages.gamut.gamut` first.
"""
