"""A job as a page to hand over: one model of the page, and three writers of it.

`material` is what a sheet is made from, `made` puts the sections together, `page` and `pictures` are what
comes of it, and `html`, `markdown` and `as_json` write that. Nothing here touches a file or the terminal.
"""
