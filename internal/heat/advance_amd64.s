#include "textflag.h"

// Eight ones and eight noughts: what a mask of n lanes starts in.
DATA lanes<>+0(SB)/8, $-1
DATA lanes<>+8(SB)/8, $-1
DATA lanes<>+16(SB)/8, $-1
DATA lanes<>+24(SB)/8, $-1
DATA lanes<>+32(SB)/8, $0
DATA lanes<>+40(SB)/8, $0
DATA lanes<>+48(SB)/8, $0
DATA lanes<>+56(SB)/8, $0
GLOBL lanes<>(SB), RODATA|NOPTR, $64

// func advance8(te, here, south, north, down, up, tl *float32, n int, a, b, c, e, dust float32)
TEXT ·advance8(SB), NOSPLIT, $0-84
	MOVQ te+0(FP), DI
	MOVQ here+8(FP), SI
	MOVQ south+16(FP), R8
	MOVQ north+24(FP), R9
	MOVQ down+32(FP), R10
	MOVQ up+40(FP), R11
	MOVQ tl+48(FP), R12
	MOVQ n+56(FP), CX
	VBROADCASTSS a+64(FP), Y12
	VBROADCASTSS b+68(FP), Y13
	VBROADCASTSS c+72(FP), Y14
	VBROADCASTSS e+76(FP), Y15
	VBROADCASTSS dust+80(FP), Y11
	VPCMPEQD Y3, Y3, Y3

next:
	CMPQ CX, $8
	JGE  whole
	TESTQ CX, CX
	JLE  done
	LEAQ lanes<>+32(SB), BX // the last lanes, fewer than eight
	SHLQ $2, CX
	SUBQ CX, BX
	VMOVDQU (BX), Y3
	XORQ CX, CX

whole:
	VMOVUPS -4(SI), Y0
	VADDPS 4(SI), Y0, Y0
	VMOVUPS (R8), Y1
	VADDPS (R9), Y1, Y1
	VADDPS Y1, Y0, Y0
	VMOVUPS (R10), Y1
	VADDPS (R11), Y1, Y1
	VADDPS Y1, Y0, Y0
	VMULPS Y13, Y0, Y0
	VMULPS (SI), Y12, Y2
	VADDPS Y0, Y2, Y0
	VMULPS (DI), Y14, Y2
	VADDPS Y2, Y0, Y0
	VMULPS (R12), Y15, Y2
	VADDPS Y2, Y0, Y0
	VADDPS Y11, Y0, Y0
	VSUBPS Y11, Y0, Y0
	VMASKMOVPS Y0, Y3, (DI)
	ADDQ $32, DI
	ADDQ $32, SI
	ADDQ $32, R8
	ADDQ $32, R9
	ADDQ $32, R10
	ADDQ $32, R11
	ADDQ $32, R12
	SUBQ $8, CX
	JG   next

done:
	VZEROUPPER
	RET
