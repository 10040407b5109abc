"""How the demo shoot is made: scenes, a camera, the camera's rendering, and the file it writes.

Owns everything between an invented place and a ``.dng`` file. Must not know ``driftline``: the demo is a
check on the product from outside, so nothing here imports it. Read first:
:func:`making.dng.write_dng` and :func:`making.camera.expose`.
"""
