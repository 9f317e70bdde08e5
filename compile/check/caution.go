package check

// Caution is what people must know who use a part somewhere.
type Caution struct {
	Word string // after `caution`
	Text string
}

// Cautions lists the places of use that a part can state. The texts are the
// usual cautions of the trade; none of them stands for a standard.
var Cautions = []Caution{
	{"optics", "Never look at or image the Sun through a telescope, camera lens or finder without a purpose-made solar filter over the whole front opening: eye damage is instant and painless. What holds such a filter needs two independent retainers. Keep caps on by day."},
	{"overhead", "Add a tether. Inspect for cracks before each night."},
	{"moving", "Slew through the whole range by hand, power off, and watch for snags and pinched fingers."},
	{"load", "Not for lifting, climbing, life safety or as the only support of a heavy load. The part is about half as strong, or less, across its layers."},
	{"heat", "This part may creep or soften in the sun or in a parked car."},
	{"power", "Not an enclosure for mains electricity. Low voltage only, with a fuse at the battery."},
}
