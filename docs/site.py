"""What the site's theme leaves out for a keyboard or a screen reader: called by mkdocs for every page."""

from typing import Any

_TABLE = '<div class="wide" role="group" aria-label="Table" tabindex="0"><table>'


def on_page_content(html: str, **_: Any) -> str:
    """Tables and blocks that are too wide scroll by themselves, by the keyboard too."""
    return html.replace("<table>", _TABLE).replace("</table>", "</table></div>").replace("<pre>", '<pre tabindex="0">')


def on_post_page(output: str, **_: Any) -> str:
    """The bar at the top is a landmark."""
    bar = '<div class="navbar fixed-top'
    return output.replace(bar, bar.replace("<div", '<div role="navigation" aria-label="Site"'))
