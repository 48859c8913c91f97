// Package labels prints the sheets of the shop: job cards, labels for boxes, the
// scanner test card, badges, machine plates, action sheets, and what is stuck on
// devices or hung up beside them, as PDF, and single QR codes as SVG. It knows nothing of the record:
// callers fill plain structs.
//
// Lengths are millimetres and type sizes are points unless a name says
// otherwise. The same input always gives the same bytes.
//
// # What soiled codes survive
//
// Oil lets what is printed show through, paint hides it. A code is lost where paint lies
// over one of its three corner squares, however little it is. So what names a card, on cards
// and labels, is of a higher version than it needs: in version 7 the squares are a sixth of
// the side, in version 4 a fifth, and of 100 codes under 5 % of paint 7 are lost and not 21.
// It is read from a quarter less far. A card with room has its code again in the foot, in
// the opposite corner: soiled as much, both are lost in about 2 of 100. The code in letters
// is for these.
//
// Reading proof begins.
//
// Of 48 damaged prints a cell (150, 203 and 300 dpi, 1-bit and grey, seed 15434), read by zbar /
// gozxing / either, per cent:
//
//	                 clean       oil 5 %     oil 10 %    oil 16 %    paint 5 %   paint 10 %  paint 16 %  spots 5 %   blur        fold        tilt        dim
//	card             100/100/100 100/97/100  100/100/100 100/100/100 91/77/93    95/83/97    91/87/97    66/41/66    62/66/85    100/87/100  91/83/95    95/66/100
//	card's foot      100/100/100 97/81/97    97/85/97    97/87/97    66/47/66    35/16/35    22/0/22     72/29/77    22/83/83    87/68/87    87/25/87    100/33/100
//	operation        100/100/100 100/83/100  97/85/97    97/85/97    66/47/66    29/12/29    8/0/8       66/25/66    18/66/83    83/62/85    79/22/81    100/33/100
//	badge            100/100/100 97/79/97    97/79/100   100/85/100  70/43/70    52/35/52    33/10/33    68/18/68    81/100/100  87/68/87    79/25/79    56/56/66
//	machine label    100/100/100 100/83/100  100/91/100  100/81/100  81/47/81    41/25/41    18/2/18     72/22/75    95/66/95    95/66/95    93/29/93    0/12/12
//	action           100/100/100 100/89/100  100/91/100  100/85/100  70/39/70    54/33/54    16/2/18     68/20/68    50/100/100  91/70/91    89/25/89    66/100/100
//	label 100x50     100/100/100 100/100/100 100/97/100  100/95/100  87/81/87    89/91/91    89/81/89    62/47/62    68/100/100  95/91/95    95/89/95    93/68/100
//	label 100x150    100/100/100 100/100/100 100/100/100 100/100/100 93/83/95    89/85/93    87/87/95    64/45/64    81/50/97    100/95/100  89/87/95    70/91/100
//	label 62         100/100/100 100/100/100 100/100/100 100/100/100 85/72/87    91/77/91    91/83/93    66/41/66    60/83/100   95/89/95    89/75/95    95/66/100
//	second, 100x50   100/83/100  100/81/100  100/83/100  100/79/100  75/66/81    64/62/68    0/0/0       52/41/54    0/16/16     81/62/81    81/68/83    89/20/89
//	second, 100x150  100/100/100 100/97/100  100/95/100  100/100/100 83/85/89    79/77/83    0/0/0       58/47/60    47/50/64    93/93/95    95/75/95    97/62/100
//	second, 62       100/83/100  100/81/100  100/83/100  100/79/100  75/66/81    64/62/68    0/0/0       52/41/54    0/16/16     81/62/81    81/68/83    89/20/89
//	scanner test     100/100/100 100/95/100  100/100/100 100/93/100  85/79/87    91/83/93    50/50/58    60/47/62    66/66/100   97/91/97    95/95/100   35/81/81
//	device           100/100/100 100/95/100  100/93/100  100/91/100  75/70/77    79/77/83    31/25/31    45/35/47    64/66/83    97/87/97    100/89/100  83/60/100
//	trust            100/100/100 100/95/100  100/100/100 100/95/100  72/70/72    68/68/72    27/35/37    54/37/56    83/66/83    100/85/100  100/91/100  2/41/41
//
// Reading proof ends.
package labels
