"""Reading, analysing, engraving and exporting in processes of their own.

A native library may crash or hang on broken input, and a long analysis must not freeze the window.
So the work is done in *worker processes* that the window can kill at any time: `messages` says what
goes over the pipe, `child` is what runs in such a process, `processes` starts, watches and replaces
it, the modules ending in ``_jobs`` are the work itself, and `workshop` is what the window talks to.
"""
