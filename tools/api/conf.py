"""Sphinx's settings for the reference of the public names."""

project = "paddlebal"
extensions = ["sphinx.ext.autodoc", "numpydoc"]
html_theme, html_title = "alabaster", "paddlebal"
html_copy_source = html_show_sourcelink = html_show_sphinx = html_show_copyright = False
autodoc_member_order = "bysource"
numpydoc_show_class_members = False
numpydoc_validation_checks = {"GL08", "SS01", "PR01", "PR02", "PR03", "RT01"}
numpydoc_validation_exclude = {
    r"\.[A-Z]\w*\.",  # methods: a line says it all
    r"paddlebal\.equations\.",  # each returns its Equation
}
