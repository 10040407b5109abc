"""Compiled kernels: HOW the stages run fast, each beside the numpy reference it is tested against.

A kernel is a serial function without the interpreter lock that works on one tile or strip of rows; threads
and tiles are :mod:`~driftline.pipeline.kernels.tiles`'s. Only + - × ÷ √, comparisons, tables and polynomials
in a fixed order touch a pixel, so that the result is the same bits on any machine, for any tiles and threads.
It must not know recipes, frames or files. Nothing is imported here, since numba takes half a second to load:
import the module that is needed. Read :func:`driftline.pipeline.kernels.demosaic.demosaic` and
:func:`driftline.pipeline.kernels.two_by_two.demosaic_tile` first.
"""
