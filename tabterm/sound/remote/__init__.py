"""Sound on another machine: a listener near the ears plays what an editor far away sends ahead.

The editor's machine runs a `caller`, which stands for an engine; the near machine runs a `listener`, which has a
real one. Between them is a line that ssh forwards (`address`); what comes over it is never believed
(`handshake`, `inspection`).
"""
