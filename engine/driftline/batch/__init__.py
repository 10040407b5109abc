"""The batch: one look over many frames, in parallel, resumable, each frame's trouble its own.

Owns the plan of a run, the pool of workers, the run's lock, names of prints and the summary. It must not know
the terminal or how pictures are developed or encoded. Read :func:`~driftline.batch.run.run_batch` and
:func:`~driftline.batch.plan.plan_run` first.
"""
