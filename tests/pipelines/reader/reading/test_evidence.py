"""One-byte encodings told apart by a heading line or two, as short exports have them."""

import random

import pytest
from rangeledger.pipelines.reader.reading.decoding import decode

WORDS = {
    "de": ["Schläger", "Höchster Punkt", "Fluglänge (m)", "Größe", "Länge gesamt", "Winkel (°)"],
    "fr": ["Club utilisé", "Écart", "Vitesse de tête", "Hélène", "Portée", "Côté", "Température"],
    "es": ["Ángulo (°)", "Dirección", "Máxima altura", "Señal", "Duración", "Tamaño", "Desviación"],
    "sv": ["Höjd", "Vänster", "Högsta punkt", "Spår (°)", "Åke Öberg", "Avstånd"],
    "en": ["Launch angle (°)", "Temp 17 °C", "Side (°)", "Attack (°)"],
}


def exports(language: str) -> list[str]:
    """Forty small tables whose headings are some of the words."""
    chosen = random.Random(language)
    tables = []
    for _ in range(40):
        heading = chosen.sample(WORDS[language], 3)
        rows = [[f"{chosen.uniform(0, 200):.1f}" for _ in heading] for _ in range(10)]
        tables.append("\n".join(";".join(row) for row in [heading, *rows]) + "\n")
    return tables


@pytest.mark.parametrize("language", WORDS)
@pytest.mark.parametrize("encoding", ["cp1252", "latin-1", "cp850", "mac_roman"])
def test_small_exports(language, encoding):
    wrong = [
        text for text in exports(language) if decode(text.encode(encoding)).data.decode() != text
    ]
    assert wrong == []


@pytest.mark.parametrize(
    ("encoding", "text"),
    [
        ("cp1251", "Клюшка;Скорость мяча;Угол запуска\nДрайвер;66,1;12,3\nАйрон 7;50,1;18,2\n"),
        ("cp1250", "Kij;Prędkość piłki;Kąt startu\nDrewno;66,1;12,3\nŻelazo;50,1;18,2\n"),
        ("cp1253", "Μπαστούνι;Ταχύτητα μπάλας;Γωνία\nΣίδερο;50,1;18,2\n"),
        ("cp932", "クラブ,ボール初速,打ち出し角\nドライバー,66.1,12.3\nアイアン,50.1,18.2\n"),
        ("cp949", "클럽,볼 스피드,발사각\n드라이버,66.1,12.3\n아이언,50.1,18.2\n"),
        ("gb18030", "球杆,球速,发射角\n一号木,66.1,12.3\n七号铁,50.1,18.2\n"),
    ],
)
def test_other_scripts(encoding, text):
    found = decode(text.encode(encoding))
    assert found.data.decode() == text
    assert any(found.encoding in note for note in found.notes)


def test_a_lone_degree_sign_is_enough():
    for encoding, byte in (("cp1252", b"\xb0"), ("cp850", b"\xf8"), ("mac_roman", b"\xa1")):
        text = decode(b"Club,Angle (" + byte + b")\n7i,18.1\n")
        assert (text.encoding, text.data[:16]) == (encoding, "Club,Angle (°".encode() + b")\n")


@pytest.mark.parametrize(
    "text",
    [
        "Klubba;TRÄ;Utgångshastighet\nTrä 7 – ny;50;1\n",
        "KLUBBA;HÖJD\nTrä 7;5\nTrä 3;6\n",
        "Club;Angle – °\n7i;–\n8i;–\n",
        "Schläger;Länge…\nEisen 7;–\nEisen 8;„neu“\n",
    ],
)
def test_dashes_and_capitals_do_not_speak_against_windows_1252(text):
    assert decode(text.encode("cp1252")).data.decode() == text
