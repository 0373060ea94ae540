// Package recording is the file of a session: what was asked of the car and what came
// back, as raw text with times, together with what the user marked. It writes the file
// while driving and reads it back whatever happened to it.
//
// # The file
//
// The file is text in UTF-8 without byte order mark, one JSON object (RFC 8259) a line
// (JSON Lines), each line ended by a line feed, no line longer than 1 MiB with its line
// feed. It is only ever appended to. A whole file:
//
//	{"k":"header","format":"judder recording","version":1,"revision":2,"start":"2026-03-01T14:30:00Z","adapter":"simulated v1.0","port":"/dev/ttyUSB0","program":"judder 1.0","crc":"e3cdc6b5"}
//	{"k":"link","t":1200000,"s":"car","c":"car-found","text":"the car answers","crc":"edc01fd1"}
//	{"k":"about","t":1250000,"protocol":"ISO 15765-4 (CAN 11/500)","crc":"c73f3a5b"}
//	{"k":"x","t":1300000,"q":"010C0D1","r":[[1340000,"7E806410C1AF80D58"]],"d":1355000,"e":"prompt","f":"can11","crc":"aa5aa181"}
//	{"k":"felt","t":9125000,"crc":"2f202f7a"}
//	{"k":"note","t":15000000,"text":"uphill, 4th gear","crc":"3c36f7f9"}
//	{"k":"r","t":15020000,"ecu":"7E8","signal":"RPM","v":1726,"crc":"1d36e5e6"}
//	{"k":"end","entries":5,"exchanges":1,"duration_us":15020000,"why":"user ended","crc":"8adc84a2"}
//
// Times are whole microseconds since the start of the session, on a clock that never
// jumps; only the header's start is wall clock. "k" is the kind of the line and "crc" its
// checksum; the others depend on the kind. Fields marked ? may be missing.
//
//	header   the first line
//	  format    "judder recording"
//	  version   1; rises only when an older reader would misread the file
//	  revision? 2; rises when a new field or kind holds what older files have in words; missing
//	            in files of the first: there a link line has no c, and a code check is two notes,
//	            "standing check begins" and "standing check over: …" or "… broke off, not whole: …"
//	  start?    wall clock at the start, RFC 3339
//	  adapter?, protocol?, port?, program?   text
//	  vin?      vehicle identification number, only when the user asked for it
//	  extra?    an object of free fields, text each
//	about    what became known of the session after its start: it replaces or adds
//	  t         when it became known
//	  adapter?, protocol?, vin?, extra?      as in the header
//	x        an exchange with the adapter
//	  t         when the request was written
//	  q         the request without its carriage return, raw
//	  r         the reply lines in order of arrival, each [time, raw text]
//	  d         when the prompt came, or when the wait was given up
//	  e         how it ended: "prompt", "silence", "lost"
//	  f         layout of the reply lines: "unknown", "can11", "can29", "kline", "j1850", "bare"
//	link     the link changed
//	  t
//	  s         "closed", "opening", "adapter", "car"
//	  c?        the cause, a code of the table below, or ""; missing in older files. A reader
//	            that does not know it shows the text
//	  text?     what happened, in words
//	felt     the user felt it: one press of a key. Presses that follow each other are one mark
//	         when the file is read
//	  t, text?
//	note     the user's words
//	  t, text?
//	check    a code check inside the drive: engine speed is not read until it is over
//	  t
//	  s         "begun", "over" (all was asked), "broke-off" (not whole)
//	  kept?     at the end: the file that holds the result
//	undo     the user took the last felt mark back
//	  t
//	blind    a blind pass: the screen hides what was found, so that felt marks are made without it
//	  t
//	  s         "begun", "over"
//	arm      the user announced a step that is about to be made
//	  t
//	  step?     "clutch-release", "neutral-coast", "lower-gear", "throttle-lift", "full-throttle",
//	            "park-sweep"; missing where none is announced any more. A later version may add some
//	r        a reading from an imported file, which has no raw exchange
//	  t
//	  ecu?      source; "" when not known
//	  signal    SAE J1979 acronym, or another name
//	  v         the value in the signal's own unit; null when there is none
//	end      the last line
//	  entries   how many lines x, link, felt, note, r, check, undo, blind, arm the file has
//	  exchanges how many of them are x
//	  duration_us   latest time among them
//	  why       why the session ended, in words
//	  broken?   true when the recording stopped before the session did, as on a full disk
//
// Lines are in the order in which things were complete, an exchange by its d. A mark may come a
// little after what came later, because it has the time of the key stroke.
// Readers pass over fields and kinds that they do not know; lines of unknown kinds count
// among the entries.
//
// # Causes of a change of the link
//
// The causes in c; a later version may add some:
//
//	opening           a port is being opened
//	adapter-found     the adapter answers
//	car-found         the car answers
//	no-engine-speed   the car answers and gives no engine speed
//	check-over        a code check is over
//	ended             the session ended
//	no-port, no-permission, busy, not-serial, port-speed, bad-address, no-host, refused,
//	no-route, timeout, given-up, other-device, not-opened
//	                  the port does not open, or broke, for this reason
//	unplugged         the far end of the link left
//	broke             the link broke in another way
//	stuck             the adapter takes no more bytes
//	silent            the adapter does not answer
//	not-adapter       what answers is no adapter
//	slept             the computer that records slept
//	lost-settings     the adapter lost its settings and did not report it
//	restarted         the adapter started again
//	hangs             requests to the car get no prompt
//	refuses-settings  the adapter refuses settings that it took before
//	cannot-ask        the adapter reports that it cannot ask the car
//	loses-characters  the adapter loses characters of what it is sent; nothing more is asked
//	car-silent        the car does not answer
//	unreadable        something answers in a form that cannot be read
//	mixed             several ECUs answer, and the adapter does not show which
//	nonsense          replies make no sense
//	further-ecu       an ECU answers that did not answer before
//
// # Raw text
//
// Requests and reply lines may hold any byte that a faulty link can send. In q and in r
// byte n is written as the code point U+00n (ISO 8859-1, Latin-1), so no byte is lost and
// the file stays valid UTF-8: the byte 0xE9 is "é", two bytes in the file. Quote and
// backslash are escaped with a backslash, control characters (00 to 1F, 7F to 9F) as
// \u00XX. All other texts are ordinary Unicode without control characters.
//
// # The checksum
//
// The crc field is the last of its line: eight digits, hexadecimal in small letters, of
// the CRC-32C (Castagnoli; RFC 3720; the check value of "123456789" is e3069283) of all
// bytes of the line before the comma in front of "crc". In
//
//	{"k":"felt","t":9125000,"crc":"2f202f7a"}
//
// it is that of the 23 bytes
//
//	{"k":"felt","t":9125000
//
// Keys may come in any order and there may be white space between tokens; the checksum is
// over the bytes as they are.
//
// # Damage
//
// What is on a whole line with the right checksum is used, the rest never:
//
//   - No end record: the recording goes on, or was broken off after its last whole line.
//   - A piece of a line, NUL bytes, or both at the end: torn by a crash or a power cut, left
//     out. A last line that lacks only its line feed is whole.
//   - A line with a wrong checksum, no checksum, broken JSON, values that are not
//     understood, or of more than 1 MiB: skipped, counted.
//   - Fewer or more entries than the end record counts, entries that go back in time, lines
//     after the end record: reported, all whole lines are used.
//   - The first line damaged: the file opens if sound lines follow.
//   - A second header: another recording begins; reading stops there.
//
// Blank lines, a carriage return before the line feed and a byte order mark are passed
// over, as an editor or a transfer may have put them there.
//
// # Why so
//
// Exchanges are kept raw, so that a corrected formula decodes old drives again, and a bug of the
// decoder shows again from a recording. The layout of the reply lines is with every exchange: it
// follows from the set-up too, but one damaged line there would make the whole file unreadable.
// With a checksum a line, silent damage is seen, a torn line costs only itself, and any tool
// reads the file. Compression would save four fifths of 3 MB an hour, and lose the end of a file
// that is cut. Facts are codes, not sentences: a reader need not search in words.
package recording
