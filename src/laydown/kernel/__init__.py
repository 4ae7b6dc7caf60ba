"""Words all layers share: errors, problems, stated facts, constants. Imports nothing else of ours."""
