"""Numbers of colour, and nothing else: no pixels' stages, no files, no recipes.

Owns encodings, primaries, Oklab, chromatic adaptation, colour temperature and colour difference. It is
the only door to colour-science, which is loaded lazily for spectral tables and used as oracle in tests.
Read :func:`~driftline.colorimetry.oklab.rec2020_to_oklab` and
:func:`~driftline.colorimetry.temperature.xy_to_cct_duv` first.
"""
