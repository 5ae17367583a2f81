/* A general-purpose solver behind one function, for the bench of the arbiter: 64-bit numbers, workspace kept from question
   to question, start from the last active bounds. problem: H (4), f (2), lower and upper ends (4 each: left, right, sum,
   difference), rows of the general bounds (4). rows: 1 (sum alone) or 2. Returns the solver's exit flag, 1 when solved. */
#include "api.h"
#include "utils.h"

int general_answer(double *problem, int rows, double *torque, int cold) {
    static DAQPWorkspace kept[2];
    static DAQPProblem problems[2];
    static int known[2];
    double multipliers[4];
    DAQPResult result = {.x = torque, .lam = multipliers};
    DAQPProblem *qp = &problems[rows - 1];
    qp->n = 2;
    qp->m = 2 + rows;
    qp->ms = 2;
    qp->H = problem;
    qp->f = problem + 4;
    qp->blower = problem + 6;
    qp->bupper = problem + 10;
    qp->A = problem + 14;
    if (cold) {
        daqp_quadprog(&result, qp, NULL);
        return result.exitflag;
    }
    DAQPWorkspace *work = &kept[rows - 1];
    if (!known[rows - 1]) {
        if (setup_daqp(qp, work, NULL) < 0) return -100;
        known[rows - 1] = 1;
    } else {
        int flag = daqp_update_ldp(DAQP_UPDATE_Rinv | DAQP_UPDATE_M | DAQP_UPDATE_v | DAQP_UPDATE_d, work, qp);
        if (flag < 0) return flag;
    }
    daqp_solve(&result, work);
    return result.exitflag;
}
