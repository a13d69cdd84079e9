"""A job brought in from a file, all or nothing."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.models import Job
from tests.office import SMALL_YARD, published_plan

pytestmark = pytest.mark.django_db


def upload(owner, text, **told):
    """Hand a job file in."""
    data = text if isinstance(text, bytes) else text.encode()
    file = SimpleUploadedFile("yard.toml", data)
    return owner.post(reverse("import-job"), {"file": file, **told})


class TestImport:
    """From a file, all or nothing."""

    def test_a_good_file_is_a_job(self, owner):
        """And its page opens."""
        assert upload(owner, SMALL_YARD).url == reverse("job", args=["3-finch-street"])

    def test_faults_stand_on_the_page_with_line_key_and_remedy(self, owner):
        """Two mistakes, two rows, nothing stored."""
        text = SMALL_YARD.replace('"4 ft"', '"wide"').replace('"5 ft"', '"wider"')
        answer = upload(owner, text)
        page = answer.content.decode()
        assert answer.status_code == 422
        assert page.count("<td>passage.width</td>") == 2
        assert "Nothing was stored. 2 things are wrong" in page
        assert Job.objects.count() == 0

    @pytest.mark.parametrize(
        ("data", "words"),
        [
            (b"", "empty"),
            (b"\xff\xfe\x00PNG", "This is not text"),
            (b"x" * (256 * 1024 + 1), "more than 256 kB"),
            (b"a = " + b"[" * 50_000, "not readable as TOML"),
            (b"a = " + b"9" * 50_000, "not readable as TOML"),
            (b"name = 5", "does not fit"),
            (b"<script>alert(1)</script>", "not readable as TOML"),
        ],
    )
    def test_what_is_no_job_file_is_told(self, owner, data, words):
        """However large, deep or hostile."""
        answer = upload(owner, data)
        assert (answer.status_code, words in answer.content.decode()) == (422, True)
        assert "<script>alert" not in answer.content.decode()

    @pytest.mark.parametrize(
        ("old", "new", "told"),
        [
            ('state = "NC"', 'state = "North Carolina"', "state"),
            ('name = "Bed"', f'name = "{"b" * 61}"', "zone.name"),
            ('soil = "loam"', 'soil = "loam"\nweight = -3', "weight"),
            ('soil = "loam"', 'soil = "loam"\nlatitude = 1000.5', "latitude"),
            ('soil = "loam"', 'soil = "loam"\nid = "no"', "id"),
        ],
    )
    def test_what_no_table_holds_is_told(self, owner, old, new, told):
        """Too long, out of range, no id."""
        answer = upload(owner, SMALL_YARD.replace(old, new, 1))
        assert answer.status_code == 422
        assert f"<td>{told}</td>" in answer.content.decode()

    def test_a_job_of_the_same_name_is_replaced_only_if_one_says_so(self, owner):
        """And never once it was published."""
        upload(owner, SMALL_YARD)
        first = Job.objects.get()
        assert upload(owner, SMALL_YARD).status_code == 422
        assert Job.objects.get() == first
        assert upload(owner, SMALL_YARD, replace="on").status_code == 302
        assert Job.objects.get() != first
        published_plan()
        Job.objects.update(demo=False)
        assert upload(owner, SMALL_YARD, replace="on").status_code == 422
