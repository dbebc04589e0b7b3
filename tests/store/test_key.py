"""The key is made once, kept outside the store, never overwritten, and a wrong one is refused."""

import hashlib
import hmac
import stat
from pathlib import Path

import pytest

from pipeline.errors import UnreadableError
from pipeline.store import key as keys


def test_new_key_is_32_random_bytes_that_only_the_owner_can_read(tmp_path):
    path = tmp_path / "folder" / "key"
    key = keys.key_for("", path)
    assert len(bytes.fromhex(path.read_text().strip())) == 32
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert keys.make(tmp_path / "other").text != key.text


def test_existing_key_is_used_for_an_empty_store_and_never_overwritten(tmp_path):
    key = keys.make(tmp_path / "key")
    assert keys.key_for("", tmp_path / "key") == key
    with pytest.raises(UnreadableError, match="could not be made"):
        keys.make(tmp_path / "key")
    assert keys.read(tmp_path / "key") == key


def test_wrong_key_is_refused_and_the_right_one_taken(tmp_path):
    right, _wrong = keys.make(tmp_path / "right"), keys.make(tmp_path / "wrong")
    assert keys.key_for(right.check, tmp_path / "right") == right
    with pytest.raises(UnreadableError, match=r"not the key this store was made with.*--key"):
        keys.key_for(right.check, tmp_path / "wrong")


def test_missing_key_of_a_used_store_is_not_replaced_by_a_new_one(tmp_path):
    with pytest.raises(UnreadableError, match=r"missing.*back-up"):
        keys.key_for("some check", tmp_path / "key")
    assert not (tmp_path / "key").exists()


@pytest.mark.parametrize("content", [b"", b"abc", b"g" * 64, b"a" * 63, b"\xff\xfe", b"a" * 65])
def test_file_that_holds_no_key_is_named(tmp_path, content):
    (tmp_path / "key").write_bytes(content)
    with pytest.raises(UnreadableError, match="key file"):
        keys.read(tmp_path / "key")


def test_check_value_and_messages_do_not_give_the_key_away(tmp_path):
    key = keys.make(tmp_path / "key")
    assert key.text not in repr(key)
    assert key.check == hmac.new(key.text.encode(), b"key check:mendstat", hashlib.sha256).hexdigest()[:32]
    assert len({key.check[:8], key.id, key.text[:8]}) == 3


def test_key_lies_in_the_users_configuration_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert keys.default_path() == tmp_path / "mendstat" / "key"
    monkeypatch.setenv("XDG_CONFIG_HOME", "relative")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert keys.default_path() == Path(tmp_path) / ".config" / "mendstat" / "key"
