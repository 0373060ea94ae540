package read

import (
	"fmt"
	"slices"

	"github.com/judder-obd/judder/check"
)

// missed is what became of a question to the ECUs that claim to answer it and did not, or not
// whole. Silence is noted; the rest is so already.
func (a *asker) missed(item check.Item, d due, in round) map[string]check.Outcome {
	silent := a.noteSilent(item, d, in)
	out := map[string]check.Outcome{}
	for i := range a.r.ECUs {
		ecu := a.r.ECUs[i].ID
		if !d.maps.of(ecu, d.id) {
			continue
		}
		became := in.of(ecu, check.SilentToClaim)
		if slices.Contains(silent, ecu) {
			became = check.Of(check.SilentToClaim)
		}
		if became.Kind != check.Read && became.Kind != check.NotSupported {
			out[ecu] = became
		}
	}
	return out
}

// of is what became of the question to one ECU: else of replies that belong to no known ECU,
// else what silence means here.
func (r round) of(ecu string, silence check.Kind) check.Outcome {
	for _, id := range []string{ecu, ""} {
		if became := r.became[id]; became.Kind != check.NotAsked {
			return became
		}
	}
	return check.Of(silence)
}

// noteSilent notes the ECUs that claim something and said nothing when they were asked for it.
func (a *asker) noteSilent(item check.Item, d due, in round) (who []string) {
	who = a.silentTo(d, in)
	for _, ecu := range who {
		a.note(ecu, item, check.Of(check.SilentToClaim))
	}
	return who
}

// silentTo are the ECUs that claim something and said nothing when they were asked for it; none
// when what came cannot be separated.
func (a *asker) silentTo(d due, in round) (who []string) {
	if in.became[""].Kind != check.NotAsked {
		return nil
	}
	for ecu := range d.maps {
		if d.maps.of(ecu, d.id) && in.became[ecu].Kind == check.NotAsked {
			who = append(who, ecu)
		}
	}
	slices.Sort(who)
	return who
}

// claims are the maps of what every ECU supports of something, and of which ECUs one is missing.
type claims struct {
	maps supportMaps
	lost map[string]check.Note
}

// supports walks the maps of what every ECU supports. bits cuts the four bytes of a map out of a
// reply; nil when it is none. A map that the one before claims and that did not come is noted.
func (a *asker) supports(kind check.ItemKind, request func(base byte) string, bits func(base byte, data []byte) []byte) (claims, error) {
	all := claims{supportMaps{}, map[string]check.Note{}}
	for base := 0; base <= 0xE0; base += 0x20 {
		if base > 0 && !all.maps.any(byte(base)) {
			break
		}
		item := check.Item{Kind: kind, ID: byte(base)}
		d := due{maps: all.maps, id: byte(base)}
		if base == 0 {
			d = everybody
		}
		in, err := a.supportMap(all.maps, item, request(byte(base)), d, bits)
		if err != nil {
			return claims{}, err
		}
		if base == 0 {
			a.firstMaps(&all, item, in)
			continue
		}
		for ecu, became := range a.missed(item, d, in) {
			all.lost[ecu] = check.Note{Item: item, Outcome: became}
		}
	}
	return all, nil
}

// firstMaps keeps of which ECUs the first map is missing.
func (a *asker) firstMaps(all *claims, item check.Item, in round) {
	for i := range a.r.ECUs {
		e := &a.r.ECUs[i]
		became := in.of(e.ID, check.MapSilent)
		switch {
		case all.maps.has(e.ID), became.Kind == check.NotSupported, became.Kind == check.Read:
		case became.Kind == check.MapSilent && (!a.can || e.Further()):
		default:
			all.lost[e.ID] = check.Note{Item: item, Outcome: became}
		}
	}
}

// supportMap asks for one map and adds it to those of its ECU.
func (a *asker) supportMap(all supportMaps, item check.Item, request string, d due, bits func(base byte, data []byte) []byte) (round, error) {
	return a.each(item, request, d, func(e *check.ECU, data []byte) error {
		four := bits(d.id, data)
		if four == nil {
			return fmt.Errorf("%X is no map of what is supported", data)
		}
		return all.put(e.ID, d.id, four)
	})
}
