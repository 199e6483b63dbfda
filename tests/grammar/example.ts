/** The example of the language's own page: what the formatter writes looks exactly like this. */
export const PLAN = `# Practice triangle for pilots new to cross-country flying.
use "club/fields.taskplan"
use "club/fleet.taskplan"
use "club/rules.taskplan"

weather Saturday
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        3000 ft MSL from 245° at 14 kt
  wind        6000 ft MSL from 255° at 20 kt
  lift        3 kt to 5800 ft MSL

task "Three Bridges"
  aircraft  Finch with pilot 82 kg
  weather   Saturday
  reserve   Training
  limits    Solo
  start     Larkfield at 3200 ft MSL
  climb     to 4800 ft MSL
  turn      "Withy Bridge"
  climb     to 5200 ft MSL
  turn      "Corran Dam" at 60 kt
  climb     to 5400 ft MSL
  finish    Larkfield at 75 kt
`;

/** Every entry and every detail of the language, in the standard layout. */
export const EVERYTHING = `# The club's places.
use "shared/neighbours.taskplan"
terrain "../terrain"

units
  altitude  ft
  distance  NM
  speed     km/h
  climb     ft/min
  mass      kg

field Larkfield at 47.2031 N 19.4410 E
  # The windsock stands north of the runway.
  elevation 190 m
  runway    18/36 900 m surface grass circuit left
  runway    09L/27R 640 m circuit right surface asphalt  # gliders only
  runway    24 500 m
  frequency 122.905 MHz
  arrive    900 ft AGL
  note      "Cables west of the field: circuit left on 18, right on 36."

turnpoint "Withy Bridge" at 47°12.19'N 019°26.46'E
  elevation 152 m MSL
  radius    500 m
  note      "The road bridge, not the railway bridge."

turnpoint "Corran Dam" at 47°12'11"N 019°26'28"E
  elevation 610 ft

obstacle Mast at 47.2500 N 19.5000 E
  top     1320 ft MSL
  radius  800 m
  note    "Lit at night."

airspace "Aldmere Control"
  floor   4500 ft MSL
  ceiling FL95
  circle  47.4000 N 19.3000 E radius 4 NM
  active  09:00Z to 17:00Z
  note    "Ask on the radio before noon."

airspace Glen
  floor   1000 ft AGL
  ceiling 3000 ft AGL
  edge    47.10 N 19.20 E
  edge    47.10 N 19.30 E
  edge    47.05 N 19.25 E

aircraft Finch
  best glide    32:1 at 49 kt
  minimum sink  1.3 kt at 41 kt
  polar mass    300 kg
  empty mass    215 kg
  maximum mass  340 kg
  ballast       up to 100 kg
  pilot         55 kg to 110 kg
  vs            36 kt
  va            75 kt
  vno           80 kt
  vne           120 kt
  crosswind     10 kt
  landing       450 m
  note          "Figures of the flight manual."

aircraft Heron
  polar         40 kt sink 1.9 kt
  polar         50 kt sink 2.1 kt
  polar         70 kt sink 3.82 kt
  polar mass    700 lb
  empty mass    480 lb
  maximum mass  990 lb
  vs            34 kt
  vne           110 kt

weather Saturday
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        3000 ft MSL from 045°M at 14 kt ± 4 kt
  wind        FL65 from 255° at 20 kt
  lift        3 kt to 5800 ft MSL
  sink        0.5 m/s
  cloudbase   6200 ft MSL
  thermals    11:30Z to 16:45Z
  note        "Sea air may come in after 16:00."

reserve Training
  arrive      1000 ft AGL
  turn        1500 ft AGL
  clear       500 ft
  performance 70 %
  altimeter   150 ft
  note        "For solo pilots before their first 50 km."

reserve Old
  arrive      800 ft AGL
  performance 20:1

limits Solo for all tasks
  within    12 NM of Larkfield
  field in glide
  land      60 min before sunset
  crosswind 8 kt
  duration  2 h 30 min
  distance  80 km
  reserve   at least Training
  note      "Agreed by the instructors."

task "Every Word"
  aircraft  Finch with pilot 82 kg and ballast 20 kg
  weather   Saturday
  reserve   Training
  limits    Solo
  takeoff   13:30+02:00
  note      "Fly the dam from the east."
  start     Larkfield at 3200 ft MSL
  climb     to 4800 ft MSL at 3 kt
  turn      "Withy Bridge" at best glide
  climb     to 5200 ft MSL at 2.5 kt after 8 NM
  climb     to 5400 ft MSL after 12 km
  turn      "Corran Dam" at maccready 3 kt
  soar      between 2500 ft MSL and 5500 ft MSL
  turn      Larkfield
  glide
  finish    Larkfield at 75 kt

task Ballast
  aircraft  Finch with ballast 20 kg and pilot 82 kg
  reserve   Old
  start     Larkfield at 2000 ft AGL
  finish    Larkfield
`;
