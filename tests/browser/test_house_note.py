"""A house note from the trainer's page to the technician's: written, approved, and only then shown."""

from pipeline.training.house_notes import read_notes, remove

TIP = "Look behind the sump before you order."
PATIENCE = 90_000


def test_a_note_is_written_approved_and_then_shown_at_the_machine(look_at, sample, sample_store):
    trainer = look_at(f"{sample}/what-does-not-hold").page
    try:
        trainer.get_by_text("Write a note").click(timeout=PATIENCE)
        form = trainer.get_by_test_id("stForm").filter(has_text="The tip")
        form.get_by_role("textbox").last.fill(TIP)
        form.get_by_role("button", name="Keep it for approval").click()
        trainer.get_by_role("button", name="Approve").wait_for(timeout=PATIENCE)
        (note,) = read_notes(sample_store)
        assert "From the house" not in asked(look_at, sample, note.unit_type)
        trainer.get_by_role("button", name="Approve").click()
        trainer.get_by_text("1 house note is shown at the machine.").wait_for(timeout=PATIENCE)
        shown = asked(look_at, sample, note.unit_type)
        assert "From the house" in shown
        assert TIP in shown
    finally:
        for note in read_notes(sample_store):
            remove(sample_store, note)


def asked(look_at, sample, kind):
    """The technician's page after a kind and what is seen most often on it were tapped."""
    page = look_at(f"{sample}/at-the-machine", "phone").page
    page.get_by_test_id("stButtonGroup").first.get_by_text(kind, exact=True).click()
    page.get_by_text(f"Seen most often on a {kind}").wait_for(timeout=PATIENCE)
    page.get_by_test_id("stButtonGroup").nth(1).locator("button").first.click()
    page.locator("ol.fixes li").first.wait_for(timeout=PATIENCE)
    page.get_by_text("How good are these answers?").wait_for(timeout=PATIENCE)
    return page.locator("[data-testid=stMain]").inner_text()
