"""The bench: the whole job in a browser. The job file on disk stays the truth.

The page holds the text of the job and sends it with every change; the server answers with a
redraw and keeps nothing of the design.
"""
