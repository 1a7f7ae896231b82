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
