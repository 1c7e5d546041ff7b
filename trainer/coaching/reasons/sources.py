"""What the cards rest on, each work once. Values and how far each was read: as the status says."""

from __future__ import annotations

from trainer.coaching.reasons.card import Source

VICKERS_2007 = Source("J. N. Vickers 2007, Perception, Cognition, and Decision Training, ch. 6")
VINE_2011 = Source("S. Vine, L. Moore, M. Wilson 2011, Front. Psychol. 2:8")
HARRIS_2023 = Source("D. Harris, M. Wilson, S. Vine 2023, PLoS ONE, 10.1371/journal.pone.0293955")
ROLL_MODEL = Source("", "worked out")
NO_NORM = Source("", "not found")

GROBER_2009 = Source("R. D. Grober 2009, arXiv:0903.1762", "second hand")
MATHERS_2014 = Source("Front. Psychol. 4:1005 (2014), four distances, again after six months")
SIM_2010 = Source("M. Sim, J.-U. Kim 2010, Hum. Mov. Sci. 29, 932-946, five and five players")
DELAY_1997 = Source("Delay et al. 1997, Hum. Mov. Sci. 16, 597-619", "second hand")
WU_2020 = Source("Y.-L. Wu et al. 2020, Open Sports Sci. J. 13, 20, 149 players")
LEE_2008 = Source("T. D. Lee et al. 2008, J. Mot. Behav. 40(4), eleven players", "second hand")
GONZALEZ_2012 = Source("D. A. Gonzalez et al. 2012, Motor Control 16(3), 371-385")
HURRION_2009 = Source("P. Hurrion 2009, Int. J. Sports Sci. Coach. 4, 30 and 30 players")
KARLSEN_2008 = Source("J. Karlsen, J. Nilsson 2008, Int. J. Sports Sci. Coach. 3, 43 players")
REHEARSAL_2020 = Source("Front. Psychol. 11:513 (2020)")

SALMONI_1984 = Source("A. Salmoni, R. Schmidt, C. Walter 1984, Psychol. Bull. 95(3), 355-386")
WINSTEIN_1990 = Source("C. Winstein, R. Schmidt 1990, J. Exp. Psychol. LMC 16(4), 677-691")
AOYAGI_2019 = Source("Y. Aoyagi et al. 2019, J. Phys. Ther. Sci. 31(8), 687-691")
FEEDBACK_2021 = Source("J. Mot. Behav. 53(3), 385-398 (2021), a meta-analysis")
SCHMIDT_1989 = Source("R. Schmidt et al. 1989, J. Exp. Psychol. LMC 15, 352-359")
CRUZ_2018 = Source("M. Cruz et al. 2018, Motricidade 14(2-3), 107-114")
CZYZ_2024 = Source("S. Czyz et al. 2024, Sci. Rep. 14:15974, 54 studies")
BEILOCK_2012 = Source("S. Beilock, R. Gray 2012, Hum. Mov. Sci.")
OBRIEN_2020 = Source("B. O'Brien et al. 2020, Res. Q. Exerc. Sport, 40 novices")
ESTIMATE = Source("J. Phys. Educ., 52 students who guessed their error first")
