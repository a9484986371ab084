"""C10: what the user reads is ours; what libraries say is in a file."""

import logging
import warnings

from geoprofile.cli.log import NAME, library_messages


def test_messages_of_libraries_go_to_a_file_once(tmp_path, capsys):
    (tmp_path / ".products").mkdir()
    with library_messages(tmp_path):
        for _ in range(3):
            logging.getLogger("rasterio._env").warning("CPLE_AppDefined in something")
            warnings.warn("this will be deprecated", FutureWarning, stacklevel=1)
    captured = capsys.readouterr()
    assert captured.err == "" and captured.out == ""
    text = (tmp_path / ".products" / NAME).read_text()
    assert text.count("CPLE_AppDefined") == 1 and text.count("FutureWarning: this will be deprecated") == 1


def test_silence_leaves_no_file(tmp_path):
    (tmp_path / ".products").mkdir()
    with library_messages(tmp_path):
        pass
    assert not (tmp_path / ".products" / NAME).exists()
