/** The club that the examples on the rules' pages may `use`: invented, small, and sound. */
export const EXAMPLE_CLUB = `field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m
  runway    18/36 900 m surface grass
  frequency 122.905 MHz

field Ashmoor at 47.3105 N 19.7020 E
  elevation 160 m
  runway    09/27 750 m surface grass

turnpoint "Withy Bridge" at 47.3380 N 19.5240 E
  elevation 140 m

turnpoint "Corran Dam" at 47.2870 N 19.6150 E
  elevation 210 m

aircraft Finch
  polar        42 kt sink 1.35 kt
  polar        49 kt sink 1.53 kt
  polar        60 kt sink 2.05 kt
  polar        80 kt sink 3.70 kt
  polar mass   310 kg
  empty mass   225 kg
  maximum mass 340 kg
  pilot        55 kg to 110 kg
  vs           34 kt
  va           80 kt
  vno          80 kt
  vne          115 kt
  crosswind    12 kt

weather Calm
  date        2026-06-13
  qnh         1013.25 hPa
  temperature 15 °C at 0 m MSL
  wind        surface from 270° at 0 kt
  lift        3 kt to 5800 ft MSL
  cloudbase   6200 ft MSL

weather Breezy
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        3000 ft MSL from 245° at 14 kt
  wind        6000 ft MSL from 255° at 20 kt
  lift        3 kt to 5800 ft MSL
  cloudbase   6200 ft MSL

reserve Training
  arrive      1000 ft AGL
  turn        1500 ft AGL
  clear       500 ft
  performance 70 %
  altimeter   150 ft
`;
