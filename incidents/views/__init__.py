"""Pages and fragments: who may, what was sent, one service, one template.

A view judges no reading and writes no row; it loads through `access`, lets a form read
what was sent, calls one service and shows the answer. htmx gets the fragment, a plain
browser the page or a redirect.
"""
