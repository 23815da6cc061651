"""A fault tree as a picture: in the terminal, as SVG, and as DOT and Mermaid text for other tools.

`picture` makes the boxes; `text`, `svg` (over `layout`), `dot` and `mermaid` draw them.
"""
