"""`bench` from end to end: an empty form, and faults of a form with its name."""

from benches import COIL


def test_writes_an_empty_form_and_never_over_another(run, tmp_path):
    (tmp_path / "coil.toml").write_text(COIL)
    first = run("bench", tmp_path / "form.csv", "--design", tmp_path / "coil.toml", "--blank")
    assert (first.exit_code, "A1,resistance,,ohm" in (tmp_path / "form.csv").read_text()) == (0, True)
    again = run("bench", tmp_path / "form.csv", "--design", tmp_path / "coil.toml", "--blank")
    assert (again.exit_code, "exists already" in again.stderr) == (2, True)


def test_faults_are_told_with_the_file_and_the_cell(run, tmp_path):
    (tmp_path / "coil.toml").write_text(COIL)
    (tmp_path / "form.csv").write_text("sample,figure,value,unit\nA1,inductance,3,uH\n")
    result = run("bench", tmp_path / "form.csv", "--design", tmp_path / "coil.toml")
    assert result.exit_code == 2
    assert "form.csv: line 2, frequency: not given" in result.stderr


def test_a_calibration_that_is_not_there_is_told(run, tmp_path):
    (tmp_path / "coil.toml").write_text('calibration = "gone.toml"\n' + COIL)
    result = run("check", tmp_path / "coil.toml")
    assert (result.exit_code, "gone.toml" in result.stderr) == (2, True)


PANELLED = COIL + '[[variant]]\nname = "fewer"\nwinding = {{ turns = {fewer} }}\n'


def panelled(run, folder, fewer):
    (folder / "coil.toml").write_text(PANELLED.format(fewer=fewer))
    assert run("panel", folder / "coil.toml", "--out", folder / "out").exit_code == 0
    (key,) = folder.glob("out/*/*-samples.csv")
    return key


def test_labels_of_a_panel_name_the_boards(run, tmp_path):
    key = panelled(run, tmp_path, 4)
    empty = run("bench", tmp_path / "form.csv", "--samples", key, "--blank")
    form = (tmp_path / "form.csv").read_text()
    assert (empty.exit_code, "A1,resistance" in form, "A2,resistance" in form) == (0, True, True)
    lines = ["sample,figure,value,unit,uncertainty,temperature", "A1,resistance,3,ohm,0.3 %,23"]
    (tmp_path / "form.csv").write_text("\n".join([*lines, "A2,resistance,2,ohm,0.3 %,23"]))
    result = run("bench", tmp_path / "form.csv", "--samples", key, "--out", tmp_path / "found")
    assert result.exit_code == 0, result.stderr
    predicted = [
        line.split(",") for line in next((tmp_path / "found").glob("*.csv")).read_text().splitlines()
    ]
    column = predicted[0].index("predicted")
    assert float(predicted[2][column]) < 0.9 * float(predicted[1][column])


def test_what_it_says_to_keys_and_labels_that_do_not_fit(run, tmp_path):
    key, form = panelled(run, tmp_path, 4), tmp_path / "form.csv"
    form.write_text("sample,figure,value,unit,uncertainty,temperature\nA9,resistance,3,ohm,0.3 %,23\n")
    other = run("bench", form, "--samples", key)
    assert (other.exit_code, "A9 is no board of the panel; its boards are A1, A2" in other.stderr) == (
        2,
        True,
    )
    both = run("bench", form, "--samples", key, "--design", tmp_path / "coil.toml")
    assert (both.exit_code, "--samples NAME-samples.csv" in both.stderr) == (2, True)
    not_one = run("bench", form, "--samples", form)
    assert (not_one.exit_code, "has no column label" in not_one.stderr) == (2, True)
    (tmp_path / "coil.toml").write_text(COIL)
    changed = run("bench", form, "--samples", key)
    assert (changed.exit_code, '"fewer" is no variant of coil.toml' in changed.stderr) == (2, True)
    (tmp_path / "coil.toml").unlink()
    gone = run("bench", form, "--samples", key)
    assert (gone.exit_code, "coil.toml stands neither beside the key" in gone.stderr) == (2, True)
