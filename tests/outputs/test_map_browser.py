"""Browser tests may be skipped on a machine without a browser, never in continuous integration."""

import pytest

from . import map_browser


def test_without_a_browser_a_test_skips_with_a_reason(monkeypatch):
    monkeypatch.setattr(map_browser.shutil, "which", lambda name: None)
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="chromium"):
        map_browser.require_browser()


def test_with_ci_set_it_fails_instead(monkeypatch):
    monkeypatch.setattr(map_browser.shutil, "which", lambda name: None)
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="failure"):
        map_browser.require_browser()
