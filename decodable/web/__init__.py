"""The teacher's page in the browser: a small ASGI application on this machine alone.

In come requests of one page with the token of this launch; out go the facts of the engine. It translates, and computes
no counts of its own.
"""
