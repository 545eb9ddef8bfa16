// Package feed reads what devices write. A field map (a YAML file, see Map)
// says what the columns of one device mean; a Source follows the place where
// its lines appear (a growing file, a folder of exports, HTTP) and yields
// drafts of entries with the read position behind them.
//
// The project knows no device by name: a new device is a new map file. A line
// that is no valid shot is never dropped; it becomes an entry with its faults.
// Raw text and the device's own signs are kept: what depends on the visit (the
// hitter's hand, the aim) is applied later, at tagging.
//
// # A field map
//
//	map: 1                      # version of this format
//	device: alder               # a-z, 0-9 and -
//	role: ball                  # ball | club | roll | stroke; or by what a column says:
//	                            # {column: Kind, roll: [putt], else: ball}
//	format: csv                 # csv | ndjson | json | xml | keys
//	encoding: utf-8             # utf-8 | utf-16 | utf-16le | utf-16be | latin-1 | windows-1252
//	records: shots              # json: the list's key (left out: a list alone, objects in a row); xml: a shot's element;
//	                            # keys: line | blank (a block of lines) | file (a file is one shot)
//	keys: {separator: "=", between: ";"}  # of format keys; without between, blanks
//	comment: ["#", "//"]        # lines that begin so are skipped
//	skip_rows:                  # lines that are no shots, by a regular expression without regard to case
//	  - {column: No, matches: "^(average|total)"}
//	  - {line: "^end of"}
//	keep_rows: [{column: Kind, matches: "^full$"}]
//	preamble:                   # values that stand once, above the rows or between the records, each found by a pattern
//	  Session: "^Session (.+)$" # of one group; used below like a column of that name, for all that follows in the file
//	missing: ["--", "n/a"]      # a cell that says: not measured; an empty one always does
//	provenance: measured        # default for fields: measured | device
//	csv:
//	  delimiter: ";"            # one character, or tab; "," when left out
//	  quote: '"'                # one character, or none
//	  header: true              # false: columns are numbers from 1
//	  skip: 2                   # lines before the header
//	  units: true               # a row of units follows each header; it is skipped
//	  widths: [8, 8, 6]         # columns of fixed width instead of a delimiter; delimiter: spaces is any run of blanks
//	  multiline: true           # a quoted cell may hold line ends
//	  transposed: true          # a column is a shot, and names stand in front of the rows; read as a whole, in a folder
//	  long: {name: Parameter, value: Value, unit: Unit}  # a row is a value; read as a whole, in a folder
//	  cells: 12                 # without a header: how many cells a whole line has
//	numbers:
//	  decimal: ","              # "." when left out
//	  thousands: "."            # none when left out
//	time:                       # leave out when the device gives none: the order of lines counts
//	  columns: [Date, Time]     # joined by one space
//	  layouts: ["02.01.2006 15:04:05"]  # how the device writes Go's reference time, 2 January 2006 15:04:05;
//	                                    # or unix, unix_ms, unix_us, unix_ns, rfc3339
//	  zone: Europe/London       # local | UTC | +02:00 | a name of the zone database
//	  date_from_file: "2006-01-02"      # the file's name holds the date, the column the time of day
//	shot_id:                    # the device's own number of the shot
//	  columns: [Session, Shot]  # joined by /
//	  scope: device             # device | day | file: within what the number is unique; left out, a number that comes
//	                            # again at another time, in another file or after other numbers is another shot
//	revision: {column: Rev}     # a later version of the same shot
//	deleted: {column: State, values: [void]}
//	device_club: {column: Club}
//	firmware: {constant: "2.4"}
//	settings:
//	  air: {column: Air Mode}
//	fields:                     # names as in the event contract
//	  ball_speed: {column: Ball Speed, unit: mph}
//	  offline:
//	    column: Side
//	    unit: yd
//	    sign: handed            # target (right of target is positive) | handed (by the player's hand)
//	    invert: true            # the device counts the other way round
//	    letters: {positive: [R], negative: [L]}   # "3.2 L", "R12"
//	    air: adjusted           # as-flown | adjusted, distances only
//	    provenance: device
//	    optional: true          # the column may be absent from a header
//	  carry:
//	    column: [Carry, Carry Flat]  # the names it has in several versions
//	    unit_column: Unit       # the unit stands in another column
//	    pattern: "([0-9.]+) of" # what of the cell is the value
//	    scale: 0.1              # of the number as written; offset is added after it
//	    zero: missing           # a zero means: not measured
//	    missing: ["999"]        # of this field alone
//	  club_path:
//	    side: {column: Side, positive: [right], negative: [left]}  # another column names the side
//	  launch_direction: {column: Heading, unit: deg, bearing: 117.5}  # a compass bearing; the target line's, or {column: NAME}
//	  air_temperature: {constant: 21, unit: degC}
//	expect:                     # pieces of a file, in its order, with what the map makes of them: read whenever the map is
//	  - {lines: "# export", nothing: true}
//	  - lines: |
//	      No;Ball Speed;Side
//	      7;118.4;3.2 L
//	    shot: {shot_id: 7, ball_speed: 118.4 mph, offline: -2.93 m, carry: none}
//	  - {lines: "8;118.4;3.2", refused: says no side}
//
// Column names are compared without regard to case and outer spaces; in NDJSON
// they are keys, and `ball.speed` is the key speed within the key ball. A cell
// may carry its unit ("156.2 mph"); that unit then counts.
package feed
