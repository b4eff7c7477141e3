"""What has the focus is never hidden by the foot that says what is wrong.

Source of the rule: WCAG 2.2, 2.4.11 Focus Not Obscured (Minimum).
"""

from __future__ import annotations

import pytest

from tests.browser.conftest import Opened
from tests.browser.site import Site

HIDDEN = """() => {
  const has = document.activeElement, foot = document.querySelector(".foot");
  if (!has || has === document.body || foot.contains(has)) return "";
  const box = (has.closest("label") || has).getBoundingClientRect();
  return box.top >= foot.getBoundingClientRect().top ? has.outerHTML.slice(0, 80) : "";
}"""


@pytest.mark.parametrize("address", ["/night", "/night/reading", "/happened", "/off"])
def test_the_foot_hides_nothing_that_has_the_focus(site: Site, browse: Opened, address: str) -> None:
    site.connect()
    page = browse(phone=True)
    page.goto(site.url + address)
    hidden = []
    for _ in range(50):
        page.keyboard.press("Tab")
        hidden.append(page.evaluate(HIDDEN))
    assert [one for one in hidden if one] == []


def test_what_the_foot_would_hide_is_found(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse(phone=True)
    page.goto(f"{site.url}/happened")
    page.evaluate("document.documentElement.style.scrollPaddingBottom = '0'")
    hidden = ""
    for _ in range(50):
        page.keyboard.press("Tab")
        hidden = hidden or page.evaluate(HIDDEN)
    assert hidden
