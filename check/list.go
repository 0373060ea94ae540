package check

import "slices"

// List is the name of a list of trouble codes.
type List string

// The lists: three of SAE J1979, and the one of a further module (ISO 14229-1 service 19).
const (
	ListStored    List = "stored"
	ListPending   List = "pending"
	ListPermanent List = "permanent"
	ListByStatus  List = "by status"
)

// Legislated are the lists that SAE J1979 demands, in the order in which they are asked for.
var Legislated = []List{ListStored, ListPending, ListPermanent}

// Item is the list as something that is asked for.
func (l List) Item() Item {
	switch l {
	case ListStored:
		return Item{Kind: ItemStored}
	case ListPending:
		return Item{Kind: ItemPending}
	case ListPermanent:
		return Item{Kind: ItemPermanent}
	}
	return Item{Kind: ItemCodes}
}

// Lists is what became of each list of codes of one ECU. Only a list that two checks both read can
// make a code new or gone: a check that broke off once passed for one of a car without codes.
type Lists map[List]Outcome

// Settled reports whether nothing is left to read of a list.
func (o Outcome) Settled() bool {
	return o.Kind == Read || o.Kind == NotSupported || o.Kind == MaybeNotKept
}

// Unread are the lists that should have been read and were not, in order of their names. An ECU
// that was asked for the lists of SAE J1979 lacks none of them.
func (l Lists) Unread() (out []List) {
	for name, became := range l {
		if !became.Settled() {
			out = append(out, name)
		}
	}
	for _, must := range Legislated {
		if _, there := l[must]; !there && l.Legislated() {
			out = append(out, must)
		}
	}
	slices.Sort(out)
	return out
}

// Legislated reports whether an ECU was asked for a list of SAE J1979.
func (l Lists) Legislated() bool {
	return slices.ContainsFunc(Legislated, func(name List) bool { _, there := l[name]; return there })
}
