"""A store that cannot be read: each page still has its name, and says in one sentence what to do."""

from dashboards import data
from dashboards.data import MendstatError

SENTENCE = "The build was made by an older version. Run `mendstat reread`."
SHOWN = "The build was made by an older version. Run “mendstat reread”."


def test_the_page_has_its_name_and_the_sentence(monkeypatch, first_page):
    def refuses():
        raise MendstatError(SENTENCE)

    monkeypatch.setattr(data, "open_fleet", refuses)
    at = first_page()
    assert [title.value for title in at.title] == ["What the log says"]
    assert SHOWN in "".join(found.proto.body for found in at.get("html"))
    assert not at.exception
