package spell

// others lists, for words that makers may write, the words of the language
// that say the same.
var others = map[string][]string{
	"add": {"join"}, "union": {"join", "with"}, "glue": {"join"}, "unite": {"join"},
	"subtract": {"cut", "less"}, "remove": {"cut", "less"}, "drill": {"cut"}, "hole": {"cut", "cylinder"}, "difference": {"cut", "less"},
	"intersect": {"trim", "within"}, "keep": {"trim", "within"}, "intersection": {"trim", "within"},
	"minus": {"less"}, "without": {"less"}, "except": {"less"}, "plus": {"with"},
	"orient": {"print"}, "pose": {"print"}, "lay": {"print"}, "filament": {"material"}, "assert": {"check"}, "require": {"check"}, "ensure": {"check"},
	"chamfer": {"bevel"}, "chamfered": {"bevel"}, "fillet": {"round"}, "rounded": {"round"}, "beveled": {"bevel"},
	"sphere": {"ball"}, "globe": {"ball"}, "cube": {"box"}, "cuboid": {"box"}, "block": {"box"}, "rod": {"cylinder"}, "pipe": {"cylinder"}, "tube": {"cylinder"}, "bar": {"cylinder"}, "disc": {"cylinder"}, "plate": {"box"}, "slab": {"box"},
	"rotate": {"turned", "revolve"}, "rotated": {"turned"}, "turn": {"turned"}, "spin": {"revolve"}, "lathe": {"revolve"},
	"move": {"at"}, "moved": {"at"}, "translate": {"at"}, "translated": {"at"}, "position": {"at"}, "pos": {"at"}, "shifted": {"at"},
	"mirror": {"mirrored", "mirrors"}, "mirrored": {"mirrors"}, "flip": {"mirrored"}, "symmetric": {"mirrors"},
	"d": {"diameter"}, "dia": {"diameter"}, "diam": {"diameter"}, "r": {"radius"}, "rad": {"radius"},
	"width": {"wide"}, "high": {"height"}, "h": {"height"}, "w": {"width"}, "l": {"length"}, "length": {"by", "long"}, "tall": {"height"}, "wide": {"width"}, "deep": {"depth"}, "long": {"length"},
	"thickness": {"thick", "wall"}, "thinnest": {"wall"}, "height": {"depth", "by", "tall", "high"}, "depth": {"height", "by", "deep"}, "thick": {"by"}, "weight": {"mass", "load"}, "steepness": {"overhang"}, "axis": {"along"}, "direction": {"along"}, "origin": {"centre", "at"}, "middle": {"centre"},
	"repeat": {"row"}, "pattern": {"row"}, "array": {"row"},
	"rect": {"rectangle"}, "square": {"rectangle"}, "hexagon": {"polygon"}, "hex": {"polygon"}, "ellipse": {"circle"},
	"circle": {"ring"}, "grid": {"row"}, "segment": {"line"}, "edge": {"line"}, "curve": {"arc"}, "contour": {"outline"}, "profile": {"outline"}, "path": {"outline"}, "shape": {"outline"},
	"construction": {"guide"}, "helper": {"guide"}, "region": {"area"}, "surface": {"area"}, "face": {"area"},
	"start": {"from"}, "begin": {"from"}, "end": {"close"}, "back": {"close"},
	"param": {"let"}, "parameter": {"let"}, "var": {"let"}, "const": {"let"}, "set": {"let"}, "def": {"let"}, "define": {"let"}, "value": {"let"}, "function": {"let"},
	"import": {"use"}, "include": {"use"}, "library": {"use"},
	"body": {"part"}, "object": {"part"}, "model": {"part"}, "drawing": {"sketch"}, "measurement": {"measure"}, "variants": {"sizes"}, "configurations": {"sizes"}, "size": {"sizes"},
	"hot": {"heat"}, "warm": {"heat"}, "mains": {"power"}, "electricity": {"power"}, "battery": {"power"}, "motion": {"moving"}, "slewing": {"moving"}, "sun": {"filter", "optics"}, "solar": {"filter"}, "lens": {"optics"}, "smoke": {"fumes"}, "vapour": {"fumes"}, "falling": {"overhead"},
	"tg": {"tan"}, "arctan": {"atan"}, "arcsin": {"asin"}, "arccos": {"acos"}, "root": {"sqrt"},
	"above": {"vertical"}, "beside": {"horizontal"}, "normal": {"perpendicular"}, "touches": {"tangent", "on"}, "same": {"equal", "coincident"}, "level": {"horizontal"}, "plumb": {"vertical"}, "upright": {"vertical"}, "centred": {"midpoint", "concentric"},
}

// Other returns the first candidate that says the same as word.
func Other(word string, candidates []string) (string, bool) {
	for _, o := range others[word] {
		for _, c := range candidates {
			if c == o {
				return c, true
			}
		}
	}
	return "", false
}
