"""The page: one file, nothing compiled, nothing fetched."""

import base64
import hashlib
import json
import re

import folium
import pytest

from geoprofile.outputs.map_page import Frame, leaflet, policy, render_page, strict_json, tile_origin

HOSTILE = [
    "{{ 7*7 }}",
    "{% if %}",
    "{# hidden #}",
    "</script><script>alert(1)</script>",
    "<!--",
    "]]>",
    "\u2028\u2029",
    "a & b",
    "\ud800",
]


def page(**data) -> str:
    return render_page("A & B <i> {{ 7*7 }}", (51.0, -99.0), {"name": "x", **data}, None)


def data_of(text: str) -> dict:
    (block,) = re.findall(r'<script type="application/json" id="survey-data">(.*?)</script>', text, re.DOTALL)
    return json.loads(block, parse_constant=pytest.fail)


@pytest.mark.parametrize("text", HOSTILE)
def test_text_of_the_data_comes_back_as_typed_W1_W2(text):
    assert data_of(page(note=text, **{"in a key": {text: [text]}}))["note"] == text


def test_text_of_the_data_never_enters_a_script_or_a_style_W2_W3():
    def code(text: str) -> list[str]:
        return re.findall(r"<(?:script|style)>.*?</(?:script|style)>", text, re.DOTALL)

    assert code(page(note="`${1+1}` C:\\users\\2019 {{ 1 }}")) == code(page(note="x"))
    assert len(code(page(note="x"))) == 4


def test_the_title_is_escaped_and_not_compiled():
    assert "<title>A &amp; B &lt;i&gt; {{ 7*7 }}</title>" in page()


def test_numbers_that_json_does_not_know_are_refused_W10():
    with pytest.raises(ValueError):
        strict_json({"value": float("nan")})


def test_no_character_of_the_block_can_end_it_or_break_a_line():
    assert not set("<>&\u2028\u2029") & set(strict_json({"note": "<>&\u2028\u2029"}))


def test_the_map_is_folium_s_without_its_content_networks_W5():
    assert issubclass(Frame, folium.Map) and not Frame.default_js and not Frame.default_css
    assert folium.Map.default_js  # folium's own list is left alone
    text = page()
    assert "L.map(" in text and 'id="map_survey"' in text
    assert not re.search(r"<(?:script|link|img|iframe)[^>]+(?:src|href)=", text)


def test_leaflet_refers_to_no_other_file_and_its_licence_is_in_the_page():
    assert "sourceMappingURL" not in leaflet("leaflet.js")
    assert set(re.findall(r"url\(([^)]*)\)", leaflet("leaflet.css"))) <= {"#default#VML"}
    assert "BSD 2-Clause License" in page() and "Agafonkin" in page()


def test_the_policy_allows_our_own_scripts_by_their_hash_and_no_connection():
    text = page()
    rules = dict(rule.strip().split(" ", 1) for rule in re.search(r'Policy" content="([^"]+)"', text)[1].split(";"))
    scripts = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    hashes = [
        "'sha256-" + base64.b64encode(hashlib.sha256(script.encode()).digest()).decode() + "'" for script in scripts
    ]
    assert rules["script-src"].split() == hashes and len(hashes) == 2
    assert rules["default-src"] == rules["connect-src"] == "'none'"
    assert rules["img-src"] == "data: blob:"


def test_tiles_asked_for_are_the_only_door_in_the_policy_W15():
    assert tile_origin("https://{s}.example.org/{z}/{x}/{y}.png") == "https://*.example.org"
    assert "img-src data: blob: https://*.example.org;" in policy("", "https://{s}.example.org/{z}/{x}/{y}.png")


def test_the_page_says_its_language_and_lets_people_zoom_it():
    text = page()
    assert '<html lang="en">' in text and "user-scalable" not in text


def test_the_same_data_give_the_same_bytes():
    assert page(note="x") == page(note="x")
