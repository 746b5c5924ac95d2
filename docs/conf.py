"""How Sphinx makes a site and a manual page of these pages.

python -m sphinx -W -b html docs build/site     the site
python -m sphinx -W -b man docs build/man       tabterm(1)
"""

from __future__ import annotations

from tabterm.version import __version__

project = "tabterm"
author = "The tabterm authors"
release = __version__
root_doc = "index"
extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["make.py"]
myst_heading_anchors = 3
suppress_warnings = [
    "toc.not_included",  # the index links every page itself, by task
    "misc.highlighting_failure",  # tabs are not code
]
nitpicky = True
html_theme = "alabaster"
html_theme_options = {"description": "A mandolin tab editor for the terminal"}
html_sidebars = {"**": ["about.html", "searchbox.html"]}
html_extra_path = ["cheat-sheet.pdf"]
html_show_copyright = False
man_pages = [("commands", "tabterm", "a mandolin tab editor for the terminal", author, 1)]
