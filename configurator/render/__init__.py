"""Papers: values first, then HTML from templates, then PDF."""
