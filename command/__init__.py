"""What the commander writes down beside readings, and what is not ready yet.

Pure Python: records in, a plan and its lacks out. It knows the engine's words
(`screening`) and nothing of Django, a database or a clock: the moment is an argument.
"""
