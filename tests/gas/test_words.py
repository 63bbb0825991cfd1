"""The words for gases, and the mixtures they mean."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tankbook.gas import AIR, Gas, GasError, Mixture, nitrox, trimix


@pytest.mark.parametrize(
    ("text", "word", "oxygen", "helium"),
    [
        ("air", "air", 20.96, 0),
        ("Air", "air", 20.96, 0),
        ("oxygen", "oxygen", 100, 0),
        ("nitrox32", "nitrox32", 32, 0),
        ("nitrox32.4", "nitrox32.4", 32.4, 0),
        ("nitrox32.0", "nitrox32", 32, 0),
        ("EAN32", "nitrox32", 32, 0),
        ("eanx36", "nitrox36", 36, 0),
        ("trimix18/45", "trimix18/45", 18, 45),
        ("trimix10.5/50", "trimix10.5/50", 10.5, 50),
        ("heliox21", "heliox21", 21, 79),
    ],
)
def test_word(text: str, word: str, oxygen: float, helium: float) -> None:
    gas = Gas.parse(text)
    assert str(gas) == word
    assert (gas.oxygen_percent, gas.helium_percent) == (oxygen, helium)
    assert gas.is_air == (word == "air")
    assert gas.validated == (helium == 0)
    assert Gas.parse(word) == gas


@pytest.mark.parametrize(
    ("text", "message", "mend"),
    [
        ("", "the gas is missing", "nitrox32"),
        ("argon", "'argon' is not a gas", "trimix18/45"),
        ("nitrox", "'nitrox' is not a gas", "nitrox32"),
        ("nitrox 32", "'nitrox 32' is not a gas", "nitrox32"),
        ("32%", "'32%' is not a gas", "nitrox32"),
        ("nitrox٣٢", "'nitrox٣٢' is not a gas", "nitrox32"),
        ("air\n", "'air\\n' is not a gas", "air"),
        ("nitrox100", "nitrox100 is no such mixture", "written oxygen"),
        ("nitrox0", "nitrox0 is no such mixture", ""),
        ("heliox100", "heliox100 is no such mixture", "written oxygen"),
        ("trimix18/0", "trimix18/0 is no such mixture", "it is nitrox18"),
        ("trimix60/45", "trimix60/45 is no such mixture", "over 100 %"),
        ("trimix21/79", "trimix21/79 is no such mixture", "heliox21"),
        ("trimix100/0", "trimix100/0 is no such mixture", ""),
    ],
)
def test_refused(text: str, message: str, mend: str) -> None:
    with pytest.raises(GasError) as caught:
        Gas.parse(text)
    assert str(caught.value) == message
    assert mend in caught.value.mend


@given(st.text() | st.from_regex(r"(nitrox|trimix|heliox|ean)[0-9./]{0,9}"))
@example("\ud800")
@example("nitrox" + "9" * 5000)
@example("\n" * 5000)
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        gas = Gas.parse(text)
    except GasError as error:
        message = str(error)
        assert message.isprintable()
        assert len(message) < 100
    else:
        assert Gas.parse(str(gas)) == gas


@pytest.mark.parametrize(
    ("oxygen", "helium", "word"),
    [
        (32.4, 0, "nitrox32.4"),
        (21, 0, "nitrox21"),
        (100, 0, "oxygen"),
        (18, 45, "trimix18/45"),
        (21, 79, "heliox21"),
        (31.996, 0, "nitrox32"),
    ],
)
def test_of_an_analysis(oxygen: float, helium: float, word: str) -> None:
    assert str(Gas.of(oxygen, helium)) == word


def test_air_is_the_published_dry_air() -> None:
    # Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331: mole fractions N2 0.7812, O2 0.2096,
    # Ar 0.0092; molar mass 28.9586 g/mol. Mark: memory. GERG's own molar masses differ from the
    # paper's in the fifth figure.
    assert (AIR.nitrogen, AIR.oxygen, AIR.argon, AIR.helium) == (0.7812, 0.2096, 0.0092, 0)
    assert AIR.molar_mass == pytest.approx(28.9586, rel=2e-5)


@given(st.floats(0, 1), st.floats(0, 1))
def test_nitrogen_and_argon_keep_their_proportion(oxygen: float, share: float) -> None:
    mixture = trimix(oxygen, share * (1 - oxygen))
    assert mixture.nitrogen * AIR.argon == pytest.approx(mixture.argon * AIR.nitrogen, abs=1e-12)
    assert sum(mixture.fractions) == pytest.approx(1, abs=1e-12)


def test_nitrox_of_the_oxygen_in_air_is_air() -> None:
    assert nitrox(0.2096).fractions == pytest.approx(AIR.fractions, abs=1e-12)


@pytest.mark.parametrize(
    "fractions",
    [(0.5, 0.4, 0, 0), (1.1, -0.1, 0, 0), (float("nan"), 1, 0, 0), (0, 0, 0, 0), (1, 1, 0, 0)],
)
def test_no_such_mixture(fractions: tuple[float, float, float, float]) -> None:
    with pytest.raises(GasError, match=r"nitrogen .*, oxygen .*, helium .*, argon"):
        Mixture(*fractions)


def test_blended() -> None:
    # Topping off oxygen with air, by mole: (0.25 x 1 + 0.75 x 0.2096). Mark: computed.
    blend = Mixture.blended((1.0, nitrox(1.0)), (3.0, AIR))
    assert blend.oxygen == pytest.approx(0.4072)
    assert blend.nitrogen == pytest.approx(0.75 * 0.7812)
    with pytest.raises(GasError, match="amounts"):
        Mixture.blended((0.0, AIR))
    with pytest.raises(GasError, match="amounts"):
        Mixture.blended((2.0, AIR), (-1.0, AIR))
