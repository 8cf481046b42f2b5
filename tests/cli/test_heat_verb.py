"""`heat`: resistance, rise and hot side against the onset; interfaces of a stack; copper; and what is refused."""

import pytest

PATH = ("--thickness-um", "100", "--area-mm2", "25", "--power-w", "40")
STACK = ("--layer", "die=2.6ppm@60K", "--layer", "board=16ppm@60K", "--join", "die+board=5mm/100um")


def service(found):
    (own,) = [each for each in found["verdicts"] if each["rule"] == "service_heat"]
    return own


def test_a_path_by_hand_with_the_interval_and_source_of_its_conductivity(run):
    done = run("heat", "SAC305", *PATH, "--void-share", "0.2", "--service-c", "125", "--class", "3", "--json")
    found = done.json()
    metal = found["conductivity_w_mk"]
    assert (metal["low"], metal["value"], metal["high"], metal["source"]) == (58, 58, 64, "compiled-table-2010")
    # 1e-4 m / (k x 25e-6 m2 x 0.8), k from 64 down to 58.
    assert found["resistance_k_w"] == pytest.approx([5 / 64, 5 / 58])
    assert found["rise_k"] == pytest.approx([200 / 64, 200 / 58])
    assert found["hot_side_c"] == pytest.approx([125 + 200 / 64, 125 + 200 / 58])
    assert found["remelt_onset_c"] == [216, 217]
    own = service(found)
    assert (done.code, own["outcome"], own["subject"]) == (0, "pass", "hot side of the joint")
    # Judged at the hottest end, outwards to a tenth: 128.5 degC, not the 125 of the cold side.
    assert own["reason"].startswith("128.5 degC")
    assert any("one large void" in told for told in found["cautions"])


def test_voids_that_nobody_stated_are_a_span_and_say_so(run):
    found = run("heat", "Sn-37Pb", *PATH, "--service-c", "60", "--json").json()
    assert found["void_share"] == [0, 0.5]
    assert found["resistance_k_w"] == pytest.approx([4 / 51, 4 / 50 / 0.5])
    assert any(told.startswith("The void share is not known: 0 to 0.5") for told in found["cautions"])


def test_an_unknown_conductivity_is_never_a_default_and_your_own_counts(run):
    done = run("heat", "In-48Sn", *PATH, "--service-c", "40")
    assert done.code == 0
    assert "The resistance is not known: the thermal conductivity." in done.out
    assert "Not used: 34 W/(m K)" in done.out
    found = run("heat", "In-48Sn", *PATH, "--service-c", "40", "--json").json()
    assert (found["resistance_k_w"], found["rise_k"], found["hot_side_c"]) == (None, None, None)
    assert found["missing"] == ["the thermal conductivity"]
    own = service(found)
    assert (own["outcome"], own["threshold"][:33]) == ("unknown", "holds if the hot side stays at or")
    stated = run("heat", "In-48Sn", *PATH, "--metal-w-mk", "34", "--void-share", "0", "--json").json()
    assert stated["resistance_k_w"] == pytest.approx([4 / 34] * 2)
    assert stated["missing"] == ["the cold side"]


def test_what_is_left_out_is_named(run):
    found = run("heat", "Sn-37Pb", "--json").json()
    assert found["missing"] == ["the thickness", "the area", "the power", "the cold side"]


def test_a_hot_side_over_the_onset_is_a_stop_even_where_no_brief_could_say_it(run):
    asked = ("heat", "Sn-37Pb", *PATH[:4], "--void-share", "0", "--service-c", "125", "--class", "2", "--json")
    done = run(*asked, "--power-w", "20000")
    assert (done.code, service(done.json())["outcome"]) == (1, "fail")
    assert done.json()["hot_side_c"][0] > 1000


def test_a_span_that_is_a_stop_at_one_end_only_is_open(run):
    # Without voids 156 degC, with half of the area void 189, over the onset of 181.4.
    asked = ("heat", "Sn-37Pb", *PATH[:4], "--power-w", "400", "--service-c", "125", "--class", "2", "--json")
    done = run(*asked)
    own = service(done.json())
    assert (done.code, own["outcome"]) == (0, "unknown")
    assert own["reason"].endswith("the lower end of the hot side, it is no stop")
    assert run(*asked, "--void-share", "0.5").code == 1


def test_a_cold_side_over_the_onset_is_a_stop_whatever_the_rise(run):
    done = run("heat", "In-48Sn", "--service-c", "130", "--json")
    own = service(done.json())
    assert (done.code, own["outcome"]) == (1, "fail")
    assert own["reason"].endswith("that is the cold side, whatever the rise")


def test_service_over_the_onset_asks_whether_it_is_kelvin(run):
    found = run("heat", "Sn-37Pb", *PATH, "--service-c", "398.15", "--json").json()
    assert found["cautions"][0] == "The cold side is over the remelt onset: 398.1? If kelvin, 125 degC."


def test_an_alloy_outside_the_catalogue_has_its_onset_computed_and_no_conductivity(run):
    found = run("heat", "Sn-3.2Ag", *PATH, "--metal-w-mk", "60", "--service-c", "80", "--class", "2", "--json")
    low, high = found.json()["remelt_onset_c"]
    assert 205 < low < high < 225
    assert service(found.json())["outcome"] == "pass"


def test_every_interface_with_its_bound_and_what_it_does_not_hold_for(run):
    layers = (*STACK, "--layer", "lid=unknown@60K", "--layer", "brass=19ppm@60K", "--join", "lid+die=5mm/0.1mm")
    more = ("--join", "brass+die=20mm/0.1mm", "--join", "brass+board=0.1mm/0.2mm")
    found = run("heat", "SAC305", *layers, *more, "--json").json()["interfaces"]
    assert [each["mismatch_um"] for each in found] == pytest.approx([4.02, None, 16.4 * 0.06 * 20, 3 * 0.06 * 0.1])
    assert found[0]["shear_strain_at_most"] == pytest.approx(0.0402)
    assert [each["holds"] for each in found] == [
        "as a bound", "–", "no: over 0.1, not small", "no: taller than its half length",
    ]  # fmt: skip
    assert "an upper bound" in run("heat", "SAC305", *STACK).out


def test_copper_of_a_barrel_needs_a_measured_rate(run):
    assert run("heat", "SAC305", "--barrel-copper-um", "25", "--rate-um-s", "0.3", "--json").json()["barrel_s"] == (
        pytest.approx(41)
    )
    done = run("heat", "SAC305", "--barrel-copper-um", "25")
    assert "none is assumed" in done.out
    assert run("heat", "SAC305", "--barrel-copper-um", "25", "--json").json()["barrel_s"] is None


def test_all_faults_come_at_once_under_their_options_with_the_unit_that_was_meant(run):
    run(
        "heat", "Zz", "--thickness-um", "0.1", "--area-mm2", "2e-5", "--void-share", "25", "--power-w=-3",
        "--service-c", "498", "--class", "4", "--barrel-copper-um", "10",
        "--layer", "die=2.6e-6@60K", "--layer", "die=3ppm@60K", "--layer", "b=16ppm@333C", "--layer", "x",
        "--layer", "c=@60K", "--join", "die+lid=5m/0.1", "--join", "b+b=5mm/x", "--join", "b", "--join", "lid+die=5/1",
    ).check_refusal(
        ("Zz", "neither a name"),
        ("Zz", "is not an element"),
        ("--thickness-um", "in mm it would be 100 um"),
        ("--area-mm2", "in m2 it would be 20 mm2"),
        ("--void-share", "0.25"),
        ("--power-w", "is negative"),
        ("--service-c", "in K it would be 224.9 degC"),
        ("--class", "is not one of the choices"),
        ("--barrel-copper-um", "is thinner than what must stay"),
        ("--layer die, expansion", "in 1/K it would be 2.6 ppm/K"),
        ("--layer die: stands twice",),
        ("--layer b, change of temperature", "a change of temperature is in K"),
        ("--layer 'x': is no layer", "die=2.6ppm@60K"),
        ("--layer c, expansion: is missing",),
        ("--join die+lid: names no layer", "die, b"),
        ("--join die+lid, half length", "lies outside the range"),
        ("--join b+b: joins a layer to itself",),
        ("--join b+b, height: is not a number",),
        ("--join 'b': is no joint", "die+board=5mm/0.1mm"),
        ("--join lid+die: stands twice",),
        ("--join lid+die: names no layer",),
    )  # fmt: skip


def test_layers_without_a_joint_between_them_are_told(run):
    run("heat", "SAC305", "--layer", "die=2.6ppm@60K").check_refusal(("--join", "names no interface"))


def test_a_cold_side_over_the_onset_is_a_stop_in_the_finding_too(run):
    done = run("heat", "SAC305", "--service-c", "250", "--json")
    assert done.code == 1
    assert "Stop: " in done.json()["finding"]
