"""From YAML text to a validated `Library`.

    files -> text (nodes with places) -> shapes, format (what a row must be) -> rows (laid over each
    other) -> build (the model) -> rules (what the whole must fulfil)

`shelf.load` runs all of it, or takes the compiled copy of `cache`.
"""
