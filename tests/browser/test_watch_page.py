"""The half sheet for the next watch, as it is printed."""

HALF_A4_MM = 148.5  # ISO 216: A4 is 210 mm x 297 mm
MARGIN_MM, SIDES_MM = 14.0, 24.0  # the style's @page
MM = 96 / 25.4  # CSS pixels a millimetre (CSS Values and Units Level 3, 5.2)


def test_the_fullest_sheet_fits_on_half_an_a4(open_page, long_sheet):
    page = open_page(long_sheet, width=round((210 - SIDES_MM) * MM)).page
    page.emulate_media(media="print")
    height = page.locator("main").bounding_box()["height"]
    assert height / MM <= HALF_A4_MM - MARGIN_MM
    assert page.locator("main h2").count() == 3
    assert page.get_by_text("Handed over by").count() == 1


def test_the_way_back_is_not_printed(open_page, ship_report):
    page = open_page(ship_report / "watch.html").page
    assert page.locator("nav").is_visible()
    page.emulate_media(media="print")
    assert not page.locator("nav").is_visible()
